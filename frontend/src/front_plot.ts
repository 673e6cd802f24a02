/** The front of film against the share that is held: each program is a button on the drawing. */

import { ticks } from "./chart";
import { svg } from "./dom";
import type { DesignView } from "./generated/api";
import type { Shower } from "./units";
import { significant } from "./units";

const HEIGHT = 340;
const LEFT = 56;
const BOTTOM = 46;

export function frontPlot(
  { design: result, front, front_words: words }: DesignView,
  show: Shower,
  picked: number | null,
  pick: (index: number) => void,
  width: number,
): SVGSVGElement {
  // Drawn at the width that it is shown at, so that letters keep their size.
  const wide = Math.max(280, Math.min(700, width || 480));
  const x = (point: { film_mass_kg: number }): number => show.number(point.film_mass_kg, "small_mass");
  const y = (point: { share_of_targets: number }): number => 100 * point.share_of_targets;
  const all = [...result.front, result.today, ...(result.chosen ? [result.chosen] : [])];
  const [left, right] = reach(all.map(x));
  // What is asked is in sight: what lies below it does not hold.
  const [low, high] = reach([...all.map(y), 100]);
  const px = (value: number): number => LEFT + ((value - left) / (right - left)) * (wide - LEFT - 16);
  const py = (value: number): number => HEIGHT - BOTTOM - ((value - low) / (high - low)) * (HEIGHT - BOTTOM - 26);
  const node = svg("svg", {
    class: "chart front",
    viewBox: `0 0 ${wide} ${HEIGHT}`,
    role: "group",
    "aria-label": words.title,
  });
  for (const tick of ticks(left, right, 5)) {
    node.append(
      svg("line", { class: "grid", x1: px(tick), x2: px(tick), y1: 26, y2: HEIGHT - BOTTOM }),
      svg("text", { class: "tick", x: px(tick), y: HEIGHT - BOTTOM + 16, "text-anchor": "middle" }, significant(tick)),
    );
  }
  for (const tick of ticks(low, high, 5)) {
    node.append(
      svg("line", { class: "grid", x1: LEFT, x2: wide - 16, y1: py(tick), y2: py(tick) }),
      svg("text", { class: "tick", x: LEFT - 6, y: py(tick) + 4, "text-anchor": "end" }, significant(tick)),
    );
  }
  node.append(
    svg("rect", {
      class: "fails",
      x: LEFT,
      y: py(100),
      width: wide - 16 - LEFT,
      height: HEIGHT - BOTTOM - py(100),
    }),
    svg("line", { class: "asked-line", x1: LEFT, x2: wide - 16, y1: py(100), y2: py(100) }),
    svg("text", { class: "axis", x: wide - 18, y: py(100) - 5, "text-anchor": "end" }, words.lines[1] ?? ""),
    svg("text", { class: "axis", x: wide - 16, y: HEIGHT - 6, "text-anchor": "end" }, words.x),
    svg("text", { class: "axis", x: 4, y: 14 }, words.y),
    svg("path", {
      class: "line faint",
      d: [...result.front]
        .sort((one, two) => x(one) - x(two))
        .map((point, index) => `${index ? "L" : "M"}${px(x(point)).toFixed(1)} ${py(y(point)).toFixed(1)}`)
        .join(""),
    }),
  );
  const cross = `M${px(x(result.today)) - 6} ${py(y(result.today)) - 6}l12 12m0 -12l-12 12`;
  node.append(
    svg("path", { class: "today", d: cross }),
    svg(
      "text",
      {
        class: "axis",
        x: px(x(result.today)) + 10,
        y: py(y(result.today)) + 16,
        "text-anchor": px(x(result.today)) > wide - 90 ? "end" : "start",
      },
      words.lines[0] ?? "",
    ),
  );
  for (const [index, point] of result.front.entries()) {
    const name = front[index]?.name ?? "";
    const holds = front[index]?.holds ?? false;
    const isPicked = index === picked;
    const choose = (): void => pick(index);
    node.append(
      svg(
        "g",
        {
          class: ["pick", isPicked ? "is-picked" : "", holds ? "" : "does-not-hold"].filter(Boolean).join(" "),
          tabindex: "0",
          role: "button",
          "aria-pressed": isPicked ? "true" : "false",
          "aria-label": name,
          transform: `translate(${px(x(point)).toFixed(1)} ${py(y(point)).toFixed(1)})`,
          click: choose,
          keydown: (event) => {
            const { key } = event as KeyboardEvent;
            if (key !== "Enter" && key !== " ") return;
            event.preventDefault();
            choose();
          },
        },
        svg("title", {}, name),
        svg("circle", { class: "grip", r: 14 }),
        svg("circle", { class: "dot", r: isPicked ? 8 : 6 }),
        holds ? null : svg("path", { class: "cross", d: "M-4 -4L4 4M4 -4L-4 4" }),
      ),
    );
  }
  return node;
}

function reach(values: number[]): [number, number] {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const slack = 0.1 * (high - low) || 0.1 * Math.abs(high) || 1;
  return [Math.max(0, low - slack), high + slack];
}
