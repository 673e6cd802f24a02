/** Line charts as SVG: axes with round ticks, lines, a band, marks. Colour never says anything alone. */

import { svg } from "./dom";
import { significant } from "./units";

export interface Line {
  points: [number, number][];
  label: string;
  style: "main" | "second" | "faint";
}

export interface Chart {
  title: string;
  x: { label: string; from?: number; to?: number };
  y: { label: string; from?: number; to?: number };
  lines: Line[];
  band?: { low: [number, number][]; high: [number, number][]; label: string };
  marks?: { x: number; y: number; label: string }[];
  height?: number;
  /** Width that it is shown at [px]; letters keep their size then. */
  width?: number;
}

export interface Drawn {
  node: SVGSVGElement;
  /** Puts the reading line at an x of the data; null takes it away. */
  cursor(x: number | null): void;
}

const NARROW = 280;
const LEFT = 46;
const RIGHT = 10;
const TOP = 22;
const BOTTOM = 38;

/** Round numbers within a range, about so many. */
export function ticks(from: number, to: number, count: number): number[] {
  const rough = (to - from) / count;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((each) => each * power).find((each) => each >= rough) ?? rough;
  const result: number[] = [];
  for (let tick = Math.ceil(from / step - 1e-9) * step; tick <= to + step * 1e-9; tick += step)
    result.push(Math.abs(tick) < step * 1e-9 ? 0 : tick);
  return result;
}

function reach(values: number[], axis: { from?: number; to?: number }): [number, number] {
  const finite = values.filter(Number.isFinite);
  let low = axis.from ?? Math.min(...finite);
  let high = axis.to ?? Math.max(...finite);
  if (!Number.isFinite(low)) low = 0;
  if (!Number.isFinite(high)) high = 1;
  if (high - low < 1e-9 * Math.max(1, Math.abs(high))) {
    low -= 0.5;
    high += 0.5;
  }
  const slack = 0.05 * (high - low);
  return [axis.from ?? low - slack, axis.to ?? high + slack];
}

export function drawChart(chart: Chart): Drawn {
  const height = chart.height ?? 240;
  const width = Math.max(NARROW, Math.min(900, chart.width ?? NARROW));
  const everything = [
    ...chart.lines.flatMap((line) => line.points),
    ...(chart.band ? [...chart.band.low, ...chart.band.high] : []),
    ...(chart.marks ?? []).map((mark): [number, number] => [mark.x, mark.y]),
  ];
  const [x0, x1] = reach(
    everything.map((point) => point[0]),
    chart.x,
  );
  const [y0, y1] = reach(
    everything.map((point) => point[1]),
    chart.y,
  );
  const px = (x: number): number => LEFT + ((x - x0) / (x1 - x0)) * (width - LEFT - RIGHT);
  const py = (y: number): number => height - BOTTOM - ((y - y0) / (y1 - y0)) * (height - TOP - BOTTOM);
  const path = (points: [number, number][]): string =>
    points.map(([x, y], index) => `${index ? "L" : "M"}${px(x).toFixed(1)} ${py(y).toFixed(1)}`).join("");

  const node = svg("svg", {
    viewBox: `0 0 ${width} ${height}`,
    class: "chart",
    role: "img",
    "aria-label": chart.title,
  });
  for (const tick of ticks(x0, x1, width / 75)) {
    node.append(
      svg("line", { class: "grid", x1: px(tick), x2: px(tick), y1: TOP, y2: height - BOTTOM }),
      svg("text", { class: "tick", x: px(tick), y: height - BOTTOM + 14, "text-anchor": "middle" }, significant(tick)),
    );
  }
  for (const tick of ticks(y0, y1, Math.max(3, Math.round((height - 60) / 40)))) {
    node.append(
      svg("line", { class: "grid", x1: LEFT, x2: width - RIGHT, y1: py(tick), y2: py(tick) }),
      svg("text", { class: "tick", x: LEFT - 6, y: py(tick) + 4, "text-anchor": "end" }, significant(tick)),
    );
  }
  node.append(
    svg("text", { class: "axis", x: width - RIGHT, y: height - 6, "text-anchor": "end" }, chart.x.label),
    svg("text", { class: "axis", x: 4, y: 12 }, chart.y.label),
  );
  if (chart.band) {
    node.append(
      svg("path", {
        class: "band",
        d: `${path(chart.band.low)}${path([...chart.band.high].reverse()).replace("M", "L")}Z`,
      }),
    );
  }
  for (const line of chart.lines) node.append(svg("path", { class: `line ${line.style}`, d: path(line.points) }));
  for (const mark of chart.marks ?? []) {
    node.append(svg("circle", { class: "mark", cx: px(mark.x), cy: py(mark.y), r: 4 }, svg("title", {}, mark.label)));
  }
  const reading = svg("line", { class: "cursor", y1: TOP, y2: height - BOTTOM });
  reading.setAttribute("visibility", "hidden");
  node.append(reading);
  return {
    node,
    cursor(x) {
      const isShown = x !== null && x >= x0 && x <= x1;
      reading.setAttribute("visibility", isShown ? "visible" : "hidden");
      if (!isShown) return;
      reading.setAttribute("x1", String(px(x)));
      reading.setAttribute("x2", String(px(x)));
    },
  };
}

/** What each line of a chart is, drawn as the line is. */
export function legend(chart: Chart): HTMLElement {
  const list = document.createElement("ul");
  list.className = "legend";
  const entry = (label: string, style: string): void => {
    const item = document.createElement("li");
    const sample = svg("svg", { viewBox: "0 0 28 10", width: 28, height: 10, "aria-hidden": "true" });
    sample.append(
      style === "band"
        ? svg("rect", { class: "band", width: 28, height: 10 })
        : svg("path", { class: `line ${style}`, d: "M0 5L28 5" }),
    );
    item.append(sample, label);
    list.append(item);
  };
  for (const line of chart.lines) entry(line.label, line.style);
  if (chart.band) entry(chart.band.label, "band");
  return list;
}
