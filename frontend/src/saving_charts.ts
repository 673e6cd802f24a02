/** Two carriages drawn: what each delivers over the force to load, and the saving by cause. */

import type { Chart, Line } from "./chart";
import { drawChart, legend } from "./chart";
import { sayCode } from "./codes";
import { el, svg } from "./dom";
import type { CarriageReport, ComparisonView } from "./generated/api";
import type { Shower } from "./units";
import { percent, say } from "./words";

/** Delivered pre-stretch of both, with rings at the case's force to load. */
export function stretchCurves(
  base: CarriageReport | undefined,
  candidate: CarriageReport | undefined,
  show: Shower,
  width: number,
): Element[] {
  const x = (force: number): number => show.number(force, "force");
  const y = (stretch: number): number => show.number(stretch, "elongation");
  const one = (report: CarriageReport | undefined, label: string, style: Line["style"]): Line[] =>
    report
      ? [{ label, style, points: report.curve.map((each) => [x(each.force_to_load_n), y(each.prestretch_delivered)]) }]
      : [];
  const chart: Chart = {
    title: say("Delivered pre-stretch against force to load, base and candidate"),
    x: { label: say("force to load [{unit}]", { unit: show.line("force").symbol }), from: 0 },
    y: { label: say("delivered pre-stretch [{unit}]", { unit: show.line("elongation").symbol }), from: 0 },
    lines: [...one(base, say("base"), "second"), ...one(candidate, say("candidate"), "main")],
    marks: [base, candidate]
      .filter((each) => each !== undefined)
      .map((each) => ({
        x: x(each.force_to_load_n),
        y: y(each.prestretch_delivered),
        label: say("force to load of this case"),
      })),
    height: 260,
    width,
  };
  const rings = base ? say("Rings: this case's {force}.", { force: show.show(base.force_to_load_n, "force") }) : "";
  return [drawChart(chart).node, legend(chart), el("p", { class: "quiet-words" }, rings)];
}

/** The saving by cause as bars, with the range of each as a thin line. */
export function savingBars({ causes }: ComparisonView["comparison"]): SVGSVGElement {
  const most = Math.max(0.01, ...causes.flatMap((each) => [each.share, each.interval.high]));
  const least = Math.min(0, ...causes.flatMap((each) => [each.share, each.interval.low]));
  const px = (share: number): number => 150 + ((share - least) / (most - least)) * 200;
  const list = causes.map((each) => `${sayCode(each.cause)} ${percent(each.share)}`).join(", ");
  const node = svg("svg", {
    class: "chart bars",
    viewBox: `0 0 420 ${causes.length * 30 + 6}`,
    role: "img",
    "aria-label": say("Saving by cause: {list}", { list }),
  });
  causes.forEach((each, index) => {
    const y = index * 30 + 6;
    const [from, to] = [px(Math.min(0, each.share)), px(Math.max(0, each.share))];
    node.append(
      svg("text", { x: 144, y: y + 15, "text-anchor": "end" }, sayCode(each.cause)),
      svg("rect", { class: "bar", x: from, y, width: Math.max(1, to - from), height: 20 }),
      svg("line", { class: "whisker", x1: px(each.interval.low), x2: px(each.interval.high), y1: y + 10, y2: y + 10 }),
      svg("text", { x: 414, y: y + 15, "text-anchor": "end" }, percent(each.share)),
    );
  });
  node.append(svg("line", { class: "grid", x1: px(0), x2: px(0), y1: 0, y2: causes.length * 30 }));
  return node;
}
