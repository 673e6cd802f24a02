/** The dancer drawn over time: tension, arm, film speed; a trace's average turn and its orders. */

import type { Chart, Drawn } from "./chart";
import { drawChart, legend } from "./chart";
import { svg } from "./dom";
import type { CycleView, MotionSample, TraceStudy } from "./generated/api";
import type { Shower } from "./units";
import { significant } from "./units";
import { say } from "./words";

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
  const frame = { x: { label: say("time [s]"), from: 0, to: study.duration_s }, width, height: 170 };
  const charts: Chart[] = [
    {
      ...frame,
      title: say("Film tension over the cycle: mean {mean}, most {most}", {
        mean: show.show(study.tension_mean_n, "force"),
        most: show.show(study.tension_peak_n, "force"),
      }),
      y: { label: say("film tension [{unit}]", { unit: show.line("force").symbol }), from: 0 },
      lines: [{ label: say("tension"), style: "main", points: over((each) => show.number(each.tension_n, "force")) }],
    },
    {
      ...frame,
      title: say("Arm angle over the cycle, between its stops"),
      y: { label: say("arm angle [{unit}]", { unit: show.line("angle").symbol }) },
      lines: [
        { label: say("arm angle"), style: "main", points: over((each) => show.number(each.arm_angle_rad, "angle")) },
        { label: say("lower stop"), style: "faint", points: level(arm.lower_stop_rad) },
        { label: say("upper stop"), style: "faint", points: level(arm.upper_stop_rad) },
      ],
    },
    {
      ...frame,
      title: say("Film speed that the load asks for and that the drive gives"),
      y: { label: say("film speed [{unit}]", { unit: show.line("speed").symbol }), from: 0 },
      lines: [
        {
          label: say("given by the drive"),
          style: "main",
          points: over((each) => show.number(each.film_speed_m_per_s, "speed")),
        },
        {
          label: say("asked for by the load"),
          style: "second",
          points: over((each) => show.number(each.film_demand_m_per_s, "speed")),
        },
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
export function meanTurn(study: TraceStudy, show: Shower, width: number): Element[] {
  const unit = show.line(study.position_kind);
  const turn = (points: number[]): [number, number][] =>
    points.map((value, index) => [index / points.length, unit.factor * value]);
  const chart: Chart = {
    title: say("The average turn of the trace"),
    x: { label: say("part of a turn"), from: 0, to: 1 },
    y: { label: say("about its mean [{unit}]", { unit: unit.symbol }) },
    lines: [{ label: say("recorded, average turn"), style: "main", points: turn(study.mean_turn) }],
    width,
    height: 190,
  };
  if (study.simulated) {
    chart.lines.push({
      label: say("the case's dancer, simulated"),
      style: "second",
      points: turn(study.simulated.simulated_turn_rad),
    });
  }
  return [drawChart(chart).node, legend(chart)];
}

/** How large a trace's swing is by times a turn. */
export function orderBars(study: TraceStudy, show: Shower): SVGSVGElement {
  const unit = show.line(study.position_kind);
  const most = Math.max(...study.order_amplitudes, 1e-12);
  const step = 340 / study.orders.length;
  const words = say("Amplitudes by times a turn, the largest {most} {unit}", {
    most: significant(unit.factor * most),
    unit: unit.symbol,
  });
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
