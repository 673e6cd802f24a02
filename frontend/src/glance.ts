/** The answer at a glance: does it hold, film, time, what to do. Nothing in it changes its place. */

import type { Problem } from "./api";
import { isOutOfReach } from "./api";
import type { AnyBlock } from "./blocks";
import { unbroken } from "./blocks";
import { el } from "./dom";
import type { RowData } from "./generated/api";
import { say } from "./words";

export type Holds = boolean | null;

const CELLS = ["verdict", "film", "time", "todo"] as const;

export class Glance {
  constructor(private readonly root: HTMLElement) {}

  /**
   * Shows what the server worded: verdict, film, time and what to do.
   * @param holds whether it holds; null where it cannot be said or nothing is asked.
   */
  show(blocks: AnyBlock[], holds: Holds): void {
    const rows = blocks.flatMap((each) => (each.block === "facts" ? each.rows : []));
    this.fill(rows);
    this.mark(holds);
  }

  /** Another verdict over the same film and time. */
  overrule(blocks: AnyBlock[], holds: Holds): void {
    const [verdict, todo] = blocks.flatMap((each) => (each.block === "facts" ? each.rows : []));
    if (!verdict || !todo) return;
    this.put("verdict", verdict);
    this.put("todo", todo);
    this.mark(holds);
  }

  /** No answer: no number may stand here that belongs to other inputs. */
  none(words: string, todo: string): void {
    const cell = (value: string): RowData => ({ label: "", value, range: "", note: "" });
    this.fill([cell(words), cell("–"), cell("–"), cell(todo)]);
    this.mark(null);
  }

  private fill(rows: RowData[]): void {
    for (const [index, name] of CELLS.entries()) {
      const row = rows[index];
      if (row) this.put(name, row);
    }
  }

  private put(name: (typeof CELLS)[number], row: RowData): void {
    const cell = this.root.querySelector(`.glance-${name}`);
    const told = cell?.querySelector("dd");
    if (!cell || !told) return;
    const heading = cell.querySelector("dt");
    if (heading && row.label) heading.textContent = row.label;
    const note = [row.range, row.note].filter(Boolean).join("; ");
    const parts = [el("span", { class: "glance-value" }, unbroken(row.value))];
    if (note) parts.push(el("span", { class: "more-of-it" }, unbroken(note)));
    told.replaceChildren(...parts);
  }

  private mark(holds: Holds): void {
    this.root.dataset.holds = holds === null ? "unsaid" : holds ? "yes" : "no";
  }
}

/** What stands there while something given cannot be used, or nobody answers. */
export function noAnswer(problems: Problem[]): string {
  if (isOutOfReach(problems)) return say("no answer: the server is out of reach");
  const count = problems.length;
  return count === 1
    ? say("no answer: 1 value needs mending")
    : say("no answer: {count} values need mending", { count });
}
