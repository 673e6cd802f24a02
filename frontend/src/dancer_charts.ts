/** The dancer drawn over time: tension, arm, film speed; a trace's average turn and its orders. */

import type { Chart, Drawn, Line } from "./chart";
import { drawChart, legend } from "./chart";
import { svg } from "./dom";
import type { ChartWords, CycleView, MotionSample, TraceView } from "./generated/api";
import type { Shower } from "./units";

export interface CycleCharts {
  nodes: Element[];
  /** Puts the reading line of all of them at a time [s]. */
  cursor(time: number): void;
}

export function cycleCharts(view: CycleView, show: Shower, width: number): CycleCharts {
  const { study, arm } = view;
  const over = (value: (sample: MotionSample) => number): [number, number][] =>
    study.samples.map((each) => [each.time_s, value(each)]);
  const level = (angle: number): [number, number][] => [
    [0, show.number(angle, "angle")],
    [study.duration_s, show.number(angle, "angle")],
  ];
  const [tension, angle, speed] = view.charts;
  if (!tension || !angle || !speed) throw new Error("three charts of a cycle");
  const frame = (words: ChartWords): Omit<Chart, "lines"> => ({
    title: words.title,
    x: { label: words.x, from: 0, to: study.duration_s },
    y: { label: words.y },
    width,
    height: 170,
  });
  const line = (words: ChartWords, place: number, style: Line["style"], points: [number, number][]): Line => ({
    label: words.lines[place] ?? "",
    style,
    points,
  });
  const charts: Chart[] = [
    {
      ...frame(tension),
      y: { label: tension.y, from: 0 },
      lines: [
        line(
          tension,
          0,
          "main",
          over((each) => show.number(each.tension_n, "force")),
        ),
      ],
    },
    {
      ...frame(angle),
      lines: [
        line(
          angle,
          0,
          "main",
          over((each) => show.number(each.arm_angle_rad, "angle")),
        ),
        line(angle, 1, "faint", level(arm.lower_stop_rad)),
        line(angle, 2, "faint", level(arm.upper_stop_rad)),
      ],
    },
    {
      ...frame(speed),
      y: { label: speed.y, from: 0 },
      lines: [
        line(
          speed,
          0,
          "main",
          over((each) => show.number(each.film_speed_m_per_s, "speed")),
        ),
        line(
          speed,
          1,
          "second",
          over((each) => show.number(each.film_demand_m_per_s, "speed")),
        ),
      ],
    },
  ];
  const drawn: Drawn[] = charts.map(drawChart);
  return {
    nodes: charts.flatMap((chart, index) => [(drawn[index] as Drawn).node, legend(chart)]),
    cursor: (time) => {
      for (const each of drawn) each.cursor(time);
    },
  };
}

/** The average turn of a trace, and the simulated one where there is one. */
export function meanTurn(
  { study, turn: words }: Pick<TraceView, "study" | "turn">,
  show: Shower,
  width: number,
): Element[] {
  const unit = show.line(study.position_kind);
  const turn = (points: number[]): [number, number][] =>
    points.map((value, index) => [index / points.length, unit.factor * value]);
  const chart: Chart = {
    title: words.title,
    x: { label: words.x, from: 0, to: 1 },
    y: { label: words.y },
    lines: [{ label: words.lines[0] ?? "", style: "main", points: turn(study.mean_turn) }],
    width,
    height: 190,
  };
  if (study.simulated) {
    chart.lines.push({
      label: words.lines[1] ?? "",
      style: "second",
      points: turn(study.simulated.simulated_turn_rad),
    });
  }
  return [drawChart(chart).node, legend(chart)];
}

/** How large a trace's swing is by times a turn. */
export function orderBars({ study, orders: words }: Pick<TraceView, "study" | "orders">): SVGSVGElement {
  const most = Math.max(...study.order_amplitudes, 1e-12);
  const step = 340 / study.orders.length;
  const node = svg("svg", { class: "chart bars", viewBox: "0 0 360 110", role: "img", "aria-label": words });
  study.orders.forEach((order, index) => {
    const height = (80 * (study.order_amplitudes[index] ?? 0)) / most;
    const x = 10 + index * step;
    node.append(
      svg("rect", { class: "bar", x: x + 1, y: 88 - height, width: step - 2, height: Math.max(height, 0.5) }),
    );
    if (order % 4 === 0 || order === 1)
      node.append(svg("text", { x: x + step / 2, y: 104, "text-anchor": "middle" }, String(order)));
  });
  return node;
}
