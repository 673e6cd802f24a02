/** Two carriages drawn: what each delivers over the force to load, and the saving by cause. */

import type { Chart, Line } from "./chart";
import { drawChart, legend } from "./chart";
import { el, svg } from "./dom";
import type { CarriageView, ComparisonView } from "./generated/api";
import type { Shower } from "./units";

/** Delivered pre-stretch of both, with rings at the case's force to load. */
export function stretchCurves(
  base: CarriageView | undefined,
  candidate: CarriageView | undefined,
  show: Shower,
  width: number,
): Element[] {
  const x = (force: number): number => show.number(force, "force");
  const y = (stretch: number): number => show.number(stretch, "elongation");
  const words = (base ?? candidate)?.curve;
  if (!words) return [];
  const [ofBase = "", ofCandidate = "", atForce = "", rings = ""] = words.lines;
  const one = (view: CarriageView | undefined, label: string, style: Line["style"]): Line[] =>
    view
      ? [
          {
            label,
            style,
            points: view.report.curve.map((each) => [x(each.force_to_load_n), y(each.prestretch_delivered)]),
          },
        ]
      : [];
  const chart: Chart = {
    title: words.title,
    x: { label: words.x, from: 0 },
    y: { label: words.y, from: 0 },
    lines: [...one(base, ofBase, "second"), ...one(candidate, ofCandidate, "main")],
    marks: [base, candidate]
      .filter((each) => each !== undefined)
      .map(({ report }) => ({
        x: x(report.force_to_load_n),
        y: y(report.prestretch_delivered),
        label: atForce,
      })),
    height: 260,
    width,
  };
  return [drawChart(chart).node, legend(chart), el("p", { class: "quiet-words" }, base ? rings : "")];
}

/** The saving by cause as bars, with the range of each as a thin line. */
export function savingBars({ comparison, causes: words }: ComparisonView): SVGSVGElement {
  const { causes } = comparison;
  const most = Math.max(0.01, ...causes.flatMap((each) => [each.share, each.interval.high]));
  const least = Math.min(0, ...causes.flatMap((each) => [each.share, each.interval.low]));
  const px = (share: number): number => 150 + ((share - least) / (most - least)) * 200;
  const node = svg("svg", {
    class: "chart bars",
    viewBox: `0 0 420 ${causes.length * 30 + 6}`,
    role: "img",
    "aria-label": words.title,
  });
  causes.forEach((each, index) => {
    const y = index * 30 + 6;
    const [from, to] = [px(Math.min(0, each.share)), px(Math.max(0, each.share))];
    node.append(
      svg("text", { x: 144, y: y + 15, "text-anchor": "end" }, words.names[index] ?? ""),
      svg("rect", { class: "bar", x: from, y, width: Math.max(1, to - from), height: 20 }),
      svg("line", { class: "whisker", x1: px(each.interval.low), x2: px(each.interval.high), y1: y + 10, y2: y + 10 }),
      svg("text", { x: 414, y: y + 15, "text-anchor": "end" }, words.values[index] ?? ""),
    );
  });
  node.append(svg("line", { class: "grid", x1: px(0), x2: px(0), y1: 0, y2: causes.length * 30 }));
  return node;
}
