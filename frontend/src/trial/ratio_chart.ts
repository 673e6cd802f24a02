/** Candidate over baseline, one line a measure: its interval, a mark, "no change" and the margin. */

import { svg } from "../dom";
import type { RatioChart } from "../generated/api";

const STEP = 34;

export function ratioChart(
  { title, no_change: noChange, margin, lines: rows }: RatioChart,
  room: number,
): SVGSVGElement {
  const width = Math.min(640, Math.max(300, room));
  const left = width < 480 ? 120 : 170;
  const values = rows.flatMap((row) => [row.ratio, row.low ?? row.ratio, row.high ?? row.ratio, row.limit ?? 1]);
  const low = Math.max(0, Math.min(0.85, ...values) - 0.02);
  const high = Math.min(3, Math.max(1.1, ...values) + 0.02);
  const x = (value: number): number =>
    left + ((Math.min(Math.max(value, low), high) - low) / (high - low)) * (width - left - 12);
  const height = rows.length * STEP + 40;
  const node = svg("svg", {
    viewBox: `0 0 ${width} ${height}`,
    class: "chart ratios",
    role: "img",
    "aria-label": title,
  });
  node.append(
    svg("line", { x1: x(1), x2: x(1), y1: 8, y2: rows.length * STEP + 8, class: "line second" }),
    svg("text", { x: x(1), y: height - 12, "text-anchor": "middle" }, noChange),
  );
  rows.forEach((row, place) => {
    const y = 24 + place * STEP;
    node.append(svg("text", { x: 4, y: y + 4, class: "axis" }, row.name));
    if (row.limit !== null)
      node.append(svg("line", { x1: x(row.limit), x2: x(row.limit), y1: y - 12, y2: y + 12, class: "line faint" }));
    node.append(
      svg("line", { x1: x(row.low ?? low), x2: x(row.high ?? high), y1: y, y2: y, class: "line" }),
      svg("circle", { cx: x(row.ratio), cy: y, r: 5, class: "mark" }),
    );
  });
  const limit = rows.find((row) => row.limit !== null)?.limit;
  if (limit) node.append(svg("text", { x: x(limit) - 4, y: height - 12, "text-anchor": "end" }, margin));
  return node;
}
