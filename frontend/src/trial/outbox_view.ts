/** Shows what is not sent yet, what the server asks about, and what it has. */

import { sentence } from "../api";
import { el } from "../dom";
import type { OpenTrial } from "../generated/api";
import { language, say, toSay } from "../words";
import type { Item } from "./kept";
import type { Outbox } from "./outbox";

export interface Actions {
  /** Takes an item back into the form of its own trial. */
  mend(item: Item): void;
}

/** Trials that are known here, by key: an entry is shown in the words of its own. */
export type Trials = ReadonlyMap<string, OpenTrial>;

const LONGEST_NUMBER = 24;

/** The number of a load as it is called; of one that is far too long its beginning. */
export function shortNumber(load: string): string {
  return load.length > LONGEST_NUMBER ? `${load.slice(0, LONGEST_NUMBER)}…` : load;
}

function trialName(trials: Trials, key: string): string {
  return trials.get(key)?.title || key;
}

/** Words for the field of a problem: "pull[2].force" is the pull reading. */
function fieldWords(trial: OpenTrial | undefined, field: string): string {
  const [, kind, name] = /^(\w+?)s?(?:\[\d+\])?\.(\w+)$/.exec(field) ?? [];
  return trial?.sheets.find((sheet) => sheet.kind === kind)?.fields.find((each) => each.name === name)?.label ?? field;
}

/** The line that always says whether everything has reached the server. */
export function stateLine(all: Item[], outbox: Outbox): HTMLElement {
  const waiting = all.filter((each) => each.state === "waiting").length;
  const photos = all.filter((each) => each.state === "photos").length;
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
  if (photos) {
    const { progress } = outbox;
    words.push(
      progress
        ? say("photos on their way, {share} % of this one", {
            share: Math.floor((100 * progress.sent) / Math.max(1, progress.size)),
          })
        : say("photos not sent yet, the numbers are"),
    );
  }
  if (!words.length) words.push(say("Everything is sent"));
  if (outbox.reach === "out of reach" || !navigator.onLine) words.push(say("server out of reach"));
  const line = el(
    "p",
    { class: refused ? "sync refused" : waiting || photos ? "sync waiting" : "sync sent", id: "sync", role: "status" },
    words.join("; "),
    ".",
  );
  if (outbox.reach === "sign in") {
    line.append(
      " ",
      el("a", { href: `/sign-in?next=${encodeURIComponent(location.pathname)}` }, say("Sign in to send")),
    );
  }
  if (outbox.reach === "not allowed") line.append(" ", say(NOT_ALLOWED));
  if (outbox.reach === "keeps nothing") {
    line.append(" ", say("The server can keep nothing at the moment:"), " ", outbox.why.map(sentence).join(" "));
    line.append(" ", say("It is sent again by itself."));
  }
  return line;
}

const NOT_ALLOWED = toSay(
  "You may not write loads down at the moment. They stay on this phone and are sent by themselves once you have the role “record” again, or somebody who has it signs in here.",
);

/** What waits, and what was sent last. */
export function keptList(all: Item[], trials: Trials, key: string): HTMLElement {
  const list = el("ul", { class: "outbox" });
  const sent = all
    .filter((each) => each.state === "sent")
    .reverse()
    .slice(0, 5);
  for (const each of [...all.filter((one) => one.state === "waiting" || one.state === "photos"), ...sent]) {
    const words = {
      sent: say("sent {time}", { time: clock(each.sentAt ?? each.saved) }),
      photos: say("sent, its photos are not yet"),
      waiting: say("saved {time}, not sent yet", { time: clock(each.saved) }),
      refused: "",
    }[each.state];
    const elsewhere = each.trial === key ? "" : ` · ${trialName(trials, each.trial)}`;
    list.append(
      el(
        "li",
        { class: each.state },
        el("strong", {}, say("Load {load}", { load: shortNumber(each.load) })),
        elsewhere,
        ` ${words}`,
        each.body.typed_by ? ` · ${each.body.typed_by}` : null,
      ),
    );
  }
  return list;
}

/** What the server refused, with what can be done about it. */
export function refusedList(all: Item[], trials: Trials, outbox: Outbox, actions: Actions): HTMLElement {
  const list = el("ul", { class: "outbox" });
  for (const each of all) if (each.state === "refused") list.append(refused(each, trials, outbox, actions));
  return list;
}

function refused(item: Item, trials: Trials, outbox: Outbox, actions: Actions): HTMLElement {
  const trial = trials.get(item.trial);
  const name = shortNumber(item.load);
  const head = el(
    "h2",
    {},
    item.isOnRecord
      ? say("Load {load}: its numbers are on record, a photo was not taken", { load: name })
      : say("Load {load}: not taken yet", { load: name }),
  );
  const answer = el(
    "li",
    { class: "refused", "data-load": name },
    head,
    el("p", { class: "of-trial" }, say("Trial: {trial}", { trial: trialName(trials, item.trial) })),
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
