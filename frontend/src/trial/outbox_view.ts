/** Shows what is not sent yet, what the server asks about, and what it has. */

import { sentence } from "../api";
import { el } from "../dom";
import type { Item } from "./kept";
import type { OpenTrial } from "./model";
import type { Outbox } from "./outbox";

export interface Actions {
  /** Takes an item back into the form. */
  mend(item: Item): void;
}

/** Words for the field of a problem: "pull[2].force" is the pull reading. */
function fieldWords(trial: OpenTrial, field: string): string {
  const [, kind, name] = /^(\w+?)(?:\[\d+\])?\.(\w+)$/.exec(field) ?? [];
  return trial.sheets.find((sheet) => sheet.kind === kind)?.fields.find((each) => each.name === name)?.label ?? field;
}

/** The line that always says whether everything has reached the server. */
export function stateLine(all: Item[], outbox: Outbox): HTMLElement {
  const waiting = all.filter((each) => each.state === "waiting").length;
  const refused = all.filter((each) => each.state === "refused").length;
  const words: string[] = [];
  if (refused) words.push(`${loads(refused)} must be looked at`);
  if (waiting) words.push(`${loads(waiting)} not sent yet, kept on this phone`);
  if (!words.length) words.push("Everything is sent");
  if (outbox.reach === "out of reach" || !navigator.onLine) words.push("server out of reach");
  const line = el("p", { class: refused ? "sync refused" : waiting ? "sync waiting" : "sync sent", id: "sync", role: "status" }, words.join("; "), ".");
  if (outbox.reach === "sign in") {
    line.append(" ", el("a", { href: `/sign-in?next=${encodeURIComponent(location.pathname)}` }, "Sign in to send"));
  }
  return line;
}

function loads(count: number): string {
  return count === 1 ? "1 load" : `${count} loads`;
}

/** What waits, and what was sent last. */
export function keptList(all: Item[]): HTMLElement {
  const list = el("ul", { class: "outbox" });
  const sent = all.filter((each) => each.state === "sent").reverse().slice(0, 5);
  for (const each of [...all.filter((one) => one.state === "waiting"), ...sent]) {
    const words = each.state === "sent" ? ` sent ${clock(each.sentAt ?? each.saved)}` : ` saved ${clock(each.saved)}, not sent yet`;
    list.append(el("li", { class: each.state }, el("strong", {}, `Load ${each.load}`), words));
  }
  return list;
}

/** What the server refused, with what can be done about it. */
export function refusedList(all: Item[], trial: OpenTrial, outbox: Outbox, actions: Actions): HTMLElement {
  const list = el("ul", { class: "outbox" });
  for (const each of all) if (each.state === "refused") list.append(refused(each, trial, outbox, actions));
  return list;
}

function refused(item: Item, trial: OpenTrial, outbox: Outbox, actions: Actions): HTMLElement {
  const head = el("h2", {}, `Load ${item.load}: not taken yet`);
  const answer = el("li", { class: "refused", "data-load": item.load }, head, el("p", {}, "It is kept on this phone."));
  for (const problem of item.problems) {
    answer.append(el("p", { class: "error" }, `${fieldWords(trial, problem.field)}: ${sentence(problem)}`));
  }
  const kinds = new Set(item.problems.map((problem) => problem.kind ?? "error"));
  const again = (change: Partial<Item["body"]>): void => {
    const draft = { ...item.draft, as_typed: change.as_typed ?? item.draft.as_typed, reason: change.reason ?? item.draft.reason };
    void outbox.keep({ ...item, draft, state: "waiting", problems: [], body: { ...item.body, ...change } }).then(() => outbox.send());
  };
  const buttons = el("div", { class: "choices" });
  if (!kinds.has("error")) {
    const asTyped = [...item.body.as_typed, ...item.problems.filter((problem) => problem.kind === "question").map((problem) => problem.field)];
    if (kinds.has("on record")) {
      const reason = el("input", { type: "text", "aria-label": "Reason for correcting the record", placeholder: "reason for correcting the record" });
      const correct = el("button", { type: "button" }, "Correct the record");
      correct.addEventListener("click", () => {
        if (reason.value.trim()) again({ as_typed: asTyped, reason: reason.value.trim() });
        else reason.focus();
      });
      buttons.append(reason, correct);
    } else {
      buttons.append(el("button", { type: "button", click: () => again({ as_typed: asTyped }) }, "It is right: send as typed"));
    }
  }
  buttons.append(el("button", { type: "button", click: () => actions.mend(item) }, "Open in the form"));
  answer.append(buttons);
  return answer;
}

function clock(at: number): string {
  return new Date(at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
}
