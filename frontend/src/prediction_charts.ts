/** A prediction drawn: containment over the height, film speed round a turn. */

import type { Chart, Drawn } from "./chart";
import { drawChart, legend } from "./chart";
import { el } from "./dom";
import type { HeightPoint, Predicted, Prediction } from "./generated/api";
import type { Perimeter } from "./perimeter";
import type { Shower } from "./units";
import { say } from "./words";

export function profileChart(p: Prediction, show: Shower, width: number): HTMLElement {
  const at = (value: (point: HeightPoint) => number): [number, number][] =>
    p.containment_profile.map((point) => [show.number(value(point), "force"), show.number(point.height_m, "length")]);
  const chart: Chart = {
    title: say(
      "Containment force over the height of the load: least {force} when wrapped. The table below says the same.",
      {
        force: show.show(p.containment_min_n, "force"),
      },
    ),
    x: { label: say("containment force [{unit}]", { unit: show.line("force").symbol }), from: 0 },
    y: { label: say("above the deck [{unit}]", { unit: show.line("length").symbol }) },
    lines: [
      { points: at((point) => point.force_n), label: say("when wrapped"), style: "second" },
      {
        points: at((point) => point.force_later_n),
        label: say("after {time}", { time: show.show(p.later_s, "hours") }),
        style: "main",
      },
    ],
    band: {
      low: at((point) => point.force_later_low_n),
      high: at((point) => point.force_later_high_n),
      label: say("its range"),
    },
    height: 300,
    width,
  };
  return el("figure", {}, drawChart(chart).node, legend(chart));
}

export function speedChart(view: Predicted, perimeter: Perimeter, show: Shower, width: number): Drawn {
  const { prediction, turn } = view;
  const count = turn.angle_rad.length;
  const first = Math.round((perimeter.start / (2 * Math.PI)) * count);
  const points = Array.from({ length: count + 1 }, (_, index): [number, number] => [
    index / count,
    show.number(turn.film_speed_m_per_s[(first + index) % count] ?? 0, "speed"),
  ]);
  return drawChart({
    title: say("Film speed round one turn: {low} at the flat of a side to {high} at a corner", {
      low: show.show(prediction.film_speed_min_m_per_s, "speed"),
      high: show.show(prediction.film_speed_max_m_per_s, "speed"),
    }),
    x: { label: say("part of a turn"), from: 0, to: 1 },
    y: { label: say("film speed [{unit}]", { unit: show.line("speed").symbol }), from: 0 },
    lines: [{ points, label: say("film speed"), style: "main" }],
    height: 150,
    width,
  });
}
