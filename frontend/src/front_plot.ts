/** The front of film against the share that is held: each program is a button on the drawing. */

import { ticks } from "./chart";
import { svg } from "./dom";
import type { DesignView } from "./generated/api";
import type { Shower } from "./units";
import { significant } from "./units";

const WIDTH = 520;
const HEIGHT = 330;
const LEFT = 56;
const BOTTOM = 46;

export function frontPlot(
  { design: result, front, front_words: words }: DesignView,
  show: Shower,
  picked: number | null,
  pick: (index: number) => void,
): SVGSVGElement {
  const x = (point: { film_mass_kg: number }): number => show.number(point.film_mass_kg, "small_mass");
  const y = (point: { share_of_targets: number }): number => 100 * point.share_of_targets;
  const all = [...result.front, result.today, ...(result.chosen ? [result.chosen] : [])];
  const [left, right] = reach(all.map(x));
  const [low, high] = reach(all.map(y));
  const px = (value: number): number => LEFT + ((value - left) / (right - left)) * (WIDTH - LEFT - 16);
  const py = (value: number): number => HEIGHT - BOTTOM - ((value - low) / (high - low)) * (HEIGHT - BOTTOM - 26);
  const node = svg("svg", {
    class: "chart front",
    viewBox: `0 0 ${WIDTH} ${HEIGHT}`,
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
      svg("line", { class: "grid", x1: LEFT, x2: WIDTH - 16, y1: py(tick), y2: py(tick) }),
      svg("text", { class: "tick", x: LEFT - 6, y: py(tick) + 4, "text-anchor": "end" }, significant(tick)),
    );
  }
  node.append(
    svg("text", { class: "axis", x: WIDTH - 16, y: HEIGHT - 6, "text-anchor": "end" }, words.x),
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
        "text-anchor": px(x(result.today)) > WIDTH - 90 ? "end" : "start",
      },
      words.lines[0] ?? "",
    ),
  );
  for (const [index, point] of result.front.entries()) {
    const name = front[index]?.name ?? "";
    const isPicked = index === picked;
    const choose = (): void => pick(index);
    node.append(
      svg(
        "g",
        {
          class: isPicked ? "pick is-picked" : "pick",
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
