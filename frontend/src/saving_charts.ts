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

/** Below it, names stand over their bars, where no long word is cut off. */
const BESIDE_FROM = 460;
const VALUE = 70;

/**
 * The saving by cause as bars, with the range of each as a thin line.
 * @param width that it is shown at [px]; letters keep their size then.
 */
export function savingBars({ comparison, causes: words }: ComparisonView, width: number): SVGSVGElement {
  const { causes } = comparison;
  const most = Math.max(0.01, ...causes.flatMap((each) => [each.share, each.interval.high]));
  const least = Math.min(0, ...causes.flatMap((each) => [each.share, each.interval.low]));
  const isBeside = width >= BESIDE_FROM;
  const [left, right] = isBeside ? [width * 0.4, width - VALUE] : [2, width - 2];
  const [step, over] = isBeside ? [30, 6] : [52, 24];
  const px = (share: number): number => left + ((share - least) / (most - least)) * (right - left);
  const node = svg("svg", {
    class: "chart bars",
    viewBox: `0 0 ${width} ${causes.length * step + 6}`,
    role: "img",
    "aria-label": words.title,
  });
  causes.forEach((each, index) => {
    const y = index * step + over;
    const [from, to] = [px(Math.min(0, each.share)), px(Math.max(0, each.share))];
    const line = isBeside ? y + 15 : y - 6;
    const name = isBeside ? { x: left - 6, "text-anchor": "end" } : { x: left };
    node.append(
      svg("text", { ...name, y: line }, words.names[index] ?? ""),
      svg("rect", { class: "bar", x: from, y, width: Math.max(1, to - from), height: 20 }),
      svg("line", { class: "whisker", x1: px(each.interval.low), x2: px(each.interval.high), y1: y + 10, y2: y + 10 }),
      svg("text", { x: width - 2, y: line, "text-anchor": "end" }, words.values[index] ?? ""),
    );
  });
  node.append(svg("line", { class: "grid", x1: px(0), x2: px(0), y1: 0, y2: causes.length * step }));
  return node;
}
