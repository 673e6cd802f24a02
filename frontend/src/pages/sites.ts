/** Many sites into one claim: a table or the store's trials, a typed claim judged. */

import { ask, problemsIn } from "../api";
import { blocksShown, verdictShown } from "../blocks";
import { byId, download, el } from "../dom";
import type { SentFile, SitesAsked, SitesPooled } from "../generated/api";
import { KeptDraft } from "../kept_draft";
import { loadsWrapped } from "../loads_wrapped";
import { problemsShown } from "../questions";
import { sentFile, whenChosen } from "../sent_file";
import { bringIntoSight, makeRoom } from "../settled";
import { start } from "../shell";
import { say } from "../words";

interface Draft {
  file: SentFile | null;
  trials: string[];
  claim: string;
  atLeast: string;
  explain: string;
  estimator: string;
  nextSite: string;
  confidence: string;
  asTyped: string[];
}

const FIRST: Draft = {
  file: null,
  trials: [],
  claim: "",
  atLeast: "",
  explain: "",
  estimator: "REML",
  nextSite: "spread-uncertain",
  confidence: "0.95",
  asTyped: [],
};

const FIELDS = {
  claim: "claim",
  atLeast: "at-least",
  explain: "explain",
  estimator: "estimator",
  nextSite: "next-site",
  confidence: "confidence",
} as const;

start(main);

async function main(): Promise<void> {
  const fields = await ask("get", "/api/sites");
  options("estimator", fields.estimators);
  options("next-site", fields.conventions);
  const draft = new KeptDraft<Draft>("sites", FIRST, () => show());
  const trials = (await ask("get", "/api/trials")).trials.filter((each) => each.loads_wrapped > 0);
  const show = (): void => {
    for (const [name, id] of Object.entries(FIELDS))
      byId<HTMLInputElement>(id).value = draft.now[name as keyof typeof FIELDS];
    for (const box of byId("store-trials").querySelectorAll("input"))
      box.checked = draft.now.trials.includes(box.value);
    showSource(draft, trials.length);
  };
  wireTrials(draft, trials, show);
  wireQuestions(draft);
  draft.heard = () => {
    if (byId("sites-answer").childElementCount)
      byId("sites-state").textContent = say("Changed since; what is shown is as it was. Ask again.");
  };
  byId("empty-table").addEventListener("click", () => download("sites.csv", fields.table, "text/csv"));
  whenChosen(byId<HTMLInputElement>("sites-file"), ([chosen]) => {
    if (chosen) void sentFile(chosen).then((file) => draft.replace({ file, trials: [], asTyped: [] }));
  });
  show();
}

function options(id: string, choices: { code: string; label: string }[]): void {
  byId(id).replaceChildren(...choices.map(({ code, label }) => el("option", { value: code }, label)));
}

function wireTrials(
  draft: KeptDraft<Draft>,
  trials: { key: string; title: string; loads_wrapped: number }[],
  show: () => void,
): void {
  const host = byId("store-trials");
  host.hidden = trials.length === 0;
  for (const each of trials) {
    const box = el("input", { type: "checkbox", value: each.key });
    box.addEventListener("change", () => {
      const chosen = [...host.querySelectorAll("input")].filter((one) => one.checked).map((one) => one.value);
      draft.now.trials = chosen;
      if (chosen.length) draft.now.file = null;
      draft.changed();
      show();
    });
    host.append(
      el(
        "label",
        {},
        box,
        el(
          "span",
          {},
          each.title || each.key,
          " ",
          el("span", { class: "quiet-words" }, loadsWrapped(each.loads_wrapped)),
        ),
      ),
    );
  }
}

function showSource({ now }: KeptDraft<Draft>, trials: number): void {
  const line = byId("sites-source");
  line.className = now.file || now.trials.length || trials > 1 ? "quiet-words" : "caution";
  if (now.file) line.textContent = say("The sites of {name}.", { name: now.file.name });
  else if (now.trials.length === 1) line.textContent = say("One trial of this store.");
  else if (now.trials.length) line.textContent = say("{count} trials of this store.", { count: now.trials.length });
  else if (trials > 1) line.textContent = say("All trials of this store, unless you choose some or open a table.");
  else line.textContent = say("This store has fewer than two trials with loads: open a table of sites.");
}

function wireQuestions(draft: KeptDraft<Draft>): void {
  for (const [name, id] of Object.entries(FIELDS)) {
    byId(id).addEventListener("input", () => {
      draft.now[name as keyof typeof FIELDS] = byId<HTMLInputElement>(id).value;
      draft.changed();
    });
  }
  byId<HTMLFormElement>("ask-sites").addEventListener("submit", (event) => {
    event.preventDefault();
    void pool(draft);
  });
}

function parts(text: string): string[] {
  return text
    .split(",")
    .map((each) => each.trim())
    .filter(Boolean);
}

async function pool(draft: KeptDraft<Draft>): Promise<void> {
  const { now } = draft;
  const body = {
    file: now.file,
    trials: now.trials,
    as_typed: now.asTyped,
    claim: now.claim,
    at_least: parts(now.atLeast),
    explain: parts(now.explain),
    estimator: now.estimator,
    next_site: now.nextSite,
    confidence: Number(now.confidence),
  } as SitesAsked;
  const state = byId("sites-state");
  state.textContent = say("Calculating …");
  byId("sites-problems").replaceChildren();
  makeRoom(byId("sites-answer"));
  bringIntoSight(byId("answer-card"));
  try {
    showPooled(await ask("post", "/api/sites", { body }));
  } catch (error) {
    byId("sites-answer").replaceChildren();
    state.textContent = say("Something must be settled first.");
    const confirm = (field: string): void => {
      draft.now.asTyped.push(field);
      draft.changed();
      void pool(draft);
    };
    byId("sites-problems").replaceChildren(...problemsShown(problemsIn(error), confirm));
  }
}

function showPooled({ claim_holds, sites, blocks }: SitesPooled): void {
  const claim = byId<HTMLInputElement>("claim").value.trim();
  byId("sites-answer").replaceChildren(
    ...(claim
      ? [
          verdictShown(
            claim_holds ? say("The sites support this claim.") : say("The sites do not support this claim."),
            claim_holds,
          ),
        ]
      : []),
    ...blocksShown(blocks),
  );
  byId("sites-state").textContent = say("What {count} sites say.", { count: sites });
}
