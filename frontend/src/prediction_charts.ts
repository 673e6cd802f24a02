/** A prediction drawn: containment over the height, film speed round a turn. */

import type { Chart, Drawn } from "./chart";
import { drawChart, legend } from "./chart";
import { el } from "./dom";
import type { ChartWords, HeightPoint, Predicted, Prediction } from "./generated/api";
import type { Perimeter } from "./perimeter";
import type { Shower } from "./units";

export function profileChart(p: Prediction, words: ChartWords, show: Shower, width: number): HTMLElement {
  const at = (value: (point: HeightPoint) => number): [number, number][] =>
    p.containment_profile.map((point) => [show.number(value(point), "force"), show.number(point.height_m, "length")]);
  const chart: Chart = {
    title: words.title,
    x: { label: words.x, from: 0 },
    y: { label: words.y },
    lines: [
      { points: at((point) => point.force_n), label: words.lines[0] ?? "", style: "second" },
      {
        points: at((point) => point.force_later_n),
        label: words.lines[1] ?? "",
        style: "main",
      },
    ],
    band: {
      low: at((point) => point.force_later_low_n),
      high: at((point) => point.force_later_high_n),
      label: words.lines[2] ?? "",
    },
    height: 300,
    width,
  };
  return el("figure", {}, drawChart(chart).node, legend(chart));
}

export function speedChart(view: Predicted, perimeter: Perimeter, show: Shower, width: number): Drawn {
  const { speeds, turn } = view;
  const count = turn.angle_rad.length;
  const first = Math.round((perimeter.start / (2 * Math.PI)) * count);
  const points = Array.from({ length: count + 1 }, (_, index): [number, number] => [
    index / count,
    show.number(turn.film_speed_m_per_s[(first + index) % count] ?? 0, "speed"),
  ]);
  return drawChart({
    title: speeds.title,
    x: { label: speeds.x, from: 0, to: 1 },
    y: { label: speeds.y, from: 0 },
    lines: [{ points, label: speeds.lines[0] ?? "", style: "main" }],
    height: 150,
    width,
  });
}
