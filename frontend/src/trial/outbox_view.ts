/** Shows what is not sent yet, what the server asks about, and what it has. */

import { sentence } from "../api";
import { el } from "../dom";
import type { OpenTrial } from "../generated/api";
import { language, say } from "../words";
import type { Item } from "./kept";
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
  if (refused)
    words.push(
      refused === 1 ? say("1 load must be looked at") : say("{count} loads must be looked at", { count: refused }),
    );
  if (waiting)
    words.push(
      waiting === 1
        ? say("1 load not sent yet, kept on this phone")
        : say("{count} loads not sent yet, kept on this phone", { count: waiting }),
    );
  if (!words.length) words.push(say("Everything is sent"));
  if (outbox.reach === "out of reach" || !navigator.onLine) words.push(say("server out of reach"));
  const line = el(
    "p",
    { class: refused ? "sync refused" : waiting ? "sync waiting" : "sync sent", id: "sync", role: "status" },
    words.join("; "),
    ".",
  );
  if (outbox.reach === "sign in") {
    line.append(
      " ",
      el("a", { href: `/sign-in?next=${encodeURIComponent(location.pathname)}` }, say("Sign in to send")),
    );
  }
  return line;
}

/** What waits, and what was sent last. */
export function keptList(all: Item[]): HTMLElement {
  const list = el("ul", { class: "outbox" });
  const sent = all
    .filter((each) => each.state === "sent")
    .reverse()
    .slice(0, 5);
  for (const each of [...all.filter((one) => one.state === "waiting"), ...sent]) {
    const words =
      each.state === "sent"
        ? say("sent {time}", { time: clock(each.sentAt ?? each.saved) })
        : say("saved {time}, not sent yet", { time: clock(each.saved) });
    list.append(
      el("li", { class: each.state }, el("strong", {}, say("Load {load}", { load: each.load })), ` ${words}`),
    );
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
  const head = el("h2", {}, say("Load {load}: not taken yet", { load: item.load }));
  const answer = el(
    "li",
    { class: "refused", "data-load": item.load },
    head,
    el("p", {}, say("It is kept on this phone.")),
  );
  for (const problem of item.problems) {
    answer.append(el("p", { class: "error" }, `${fieldWords(trial, problem.field)}: ${sentence(problem)}`));
  }
  const kinds = new Set(item.problems.map((problem) => problem.kind));
  const again = (change: Partial<Item["body"]>): void => {
    const draft = {
      ...item.draft,
      as_typed: change.as_typed ?? item.draft.as_typed,
      reason: change.reason ?? item.draft.reason,
    };
    void outbox
      .keep({ ...item, draft, state: "waiting", problems: [], body: { ...item.body, ...change } })
      .then(() => outbox.send());
  };
  const buttons = el("div", { class: "choices" });
  if (!kinds.has("error")) {
    const asTyped = [
      ...item.body.as_typed,
      ...item.problems.filter((problem) => problem.kind === "question").map((problem) => problem.field),
    ];
    if (kinds.has("on record")) {
      const reason = el("input", {
        type: "text",
        "aria-label": say("Reason for correcting the record"),
        placeholder: say("reason for correcting the record"),
      });
      const correct = el("button", { type: "button" }, say("Correct the record"));
      correct.addEventListener("click", () => {
        if (reason.value.trim()) again({ as_typed: asTyped, reason: reason.value.trim() });
        else reason.focus();
      });
      buttons.append(reason, correct);
    } else {
      buttons.append(
        el("button", { type: "button", click: () => again({ as_typed: asTyped }) }, say("It is right: send as typed")),
      );
    }
  }
  buttons.append(el("button", { type: "button", click: () => actions.mend(item) }, say("Open in the form")));
  answer.append(buttons);
  return answer;
}

function clock(at: number): string {
  return new Date(at).toLocaleTimeString(language(), { hour: "2-digit", minute: "2-digit" });
}
