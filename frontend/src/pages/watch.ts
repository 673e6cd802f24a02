/** Watches cycle records: charts and alarms of each machine, a fleet, and a report to hand over. */

import type { Problem } from "../api";
import { ask, askFile, problemsIn, told } from "../api";
import { blocksShown, verdictShown } from "../blocks";
import { byId, download, el } from "../dom";
import type { Section, Table } from "../draft";
import { readToml } from "../draft";
import { learnFields } from "../field_words";
import { CaseForm } from "../form";
import type { RecordsSent, SentFile, WatchAsked } from "../generated/api";
import { KeptDraft } from "../kept_draft";
import { problemsShown } from "../questions";
import { sentFile, whenChosen } from "../sent_file";
import { bringIntoSight, makeRoom } from "../settled";
import { start } from "../shell";
import { withUsual } from "../usual";
import { say } from "../words";

interface Draft {
  trial: string;
  promise: string;
  since: string;
  columns: string;
  asTyped: string[];
  settings: Table;
}

const FIRST: Draft = { trial: "", promise: "", since: "", columns: "", asTyped: [], settings: {} };
const FIELDS = { trial: "watch-trial", promise: "watch-promise", since: "since", columns: "columns" } as const;
const LARGEST = 25_000_000;

/** Too large for what a browser remembers: chosen again after a reload. */
let files: SentFile[] = [];

start(main);

async function main(): Promise<void> {
  const fields = await ask("get", "/api/watch");
  learnFields(fields.sections);
  const draft = new KeptDraft<Draft>("watch", FIRST, () => show());
  const form = settingsForm(withUsual(fields.sections), draft);
  const show = (): void => {
    for (const [name, id] of Object.entries(FIELDS))
      byId<HTMLInputElement>(id).value = draft.now[name as keyof typeof FIELDS];
    form.replace(draft.now.settings);
    showRecords(draft);
  };
  for (const [name, id] of Object.entries(FIELDS)) {
    byId(id).addEventListener("input", () => {
      draft.now[name as keyof typeof FIELDS] = byId<HTMLInputElement>(id).value;
      if (name === "trial" && draft.now.trial) files = [];
      draft.changed();
      showRecords(draft);
    });
  }
  await offerTrials();
  wireFiles(draft);
  draft.heard = () => {
    if (!byId("watch-answer").childElementCount) return;
    byId("watch-state").textContent = say("Changed since; what is shown is as it was. Ask again.");
    // A report that is taken away says what is shown.
    mayTake(false);
  };
  byId("watch").addEventListener("click", () => void watch(draft, form));
  byId("fleet").addEventListener("click", () => void fleet(draft, form));
  byId("print").addEventListener("click", () => window.print());
  byId("as-pdf").addEventListener("click", () => void take("pdf", draft));
  byId("as-page").addEventListener("click", () => void take("html", draft));
  show();
}

async function offerTrials(): Promise<void> {
  const trials = (await ask("get", "/api/trials")).trials.filter((each) => each.loads_wrapped > 0);
  for (const id of ["trial", "promise"]) {
    byId(`${id}-part`).hidden = trials.length === 0;
    byId(`watch-${id}`).replaceChildren(
      el("option", { value: "" }, say("none")),
      ...trials.map((each) => el("option", { value: each.key }, each.title || each.key)),
    );
  }
}

function showRecords({ now }: KeptDraft<Draft>): void {
  const note = byId("records-note");
  note.className = "quiet-words";
  if (files.length) note.textContent = say("Records of {names}.", { names: files.map((each) => each.name).join(", ") });
  else if (now.trial) note.textContent = say("Records of the trial {key}.", { key: now.trial });
  else note.textContent = say("No records are chosen yet.");
}

function wireFiles(draft: KeptDraft<Draft>): void {
  whenChosen(byId<HTMLInputElement>("records-files"), (chosen) => {
    const size = chosen.reduce((sum, each) => sum + each.size, 0);
    if (size > LARGEST) {
      const note = byId("records-note");
      note.className = "error";
      note.textContent = say("{size} MB are too many for a page: take fewer files, or the terminal.", {
        size: Math.ceil(size / 1e6),
      });
      return;
    }
    void Promise.all(chosen.map(sentFile)).then((sent) => {
      files = sent;
      draft.replace({ trial: "", asTyped: [] });
    });
  });
  whenChosen(byId<HTMLInputElement>("settings-file"), ([chosen]) => {
    if (!chosen) return;
    const note = byId("settings-note");
    chosen
      .text()
      .then(readToml)
      .then((settings) => {
        draft.replace({ settings });
        note.className = "quiet-words";
        note.textContent = say("Opened {name}. Undo brings the other one back.", { name: chosen.name });
      })
      .catch((error: unknown) => {
        note.className = "error";
        note.textContent = problemsIn(error).map(told).join(" ");
      });
  });
}

function settingsForm(sections: Section[], draft: KeptDraft<Draft>): CaseForm {
  const changed = (): void => draft.changed();
  const opens = (path: string): boolean => path === "film";
  return new CaseForm(byId("watch-fields"), { sections }, draft.now.settings, changed, undefined, opens);
}

function records({ now }: KeptDraft<Draft>): RecordsSent {
  const columns: Record<string, string> = {};
  for (const line of now.columns.split("\n")) {
    const [known, ...name] = line.split("=");
    if (known?.trim() && name.length) columns[known.trim()] = name.join("=").trim();
  }
  return { files, settings: now.settings, columns, as_typed: now.asTyped };
}

function body(draft: KeptDraft<Draft>): WatchAsked {
  const { trial, promise, since } = draft.now;
  return { ...records(draft), trial, promise, since: since || null };
}

async function watch(draft: KeptDraft<Draft>, form: CaseForm): Promise<void> {
  await asked(
    draft,
    form,
    async () => {
      const { report, is_alarm } = await ask("post", "/api/watch", { body: body(draft) });
      byId("watch-answer").replaceChildren(
        verdictShown(report.title, !is_alarm),
        ...blocksShown(report.blocks),
        el("p", { class: "quiet-words" }, report.footer),
      );
      mayTake(true);
    },
    () => watch(draft, form),
  );
}

async function fleet(draft: KeptDraft<Draft>, form: CaseForm): Promise<void> {
  await asked(
    draft,
    form,
    async () => {
      const found = await ask("post", "/api/watch/fleet", { body: records(draft) });
      byId("watch-answer").replaceChildren(
        verdictShown(found.is_alarm ? say("Alarms in this fleet.") : say("No alarm in this fleet."), !found.is_alarm),
        ...blocksShown(found.blocks),
      );
    },
    () => fleet(draft, form),
  );
}

/** Asks, and shows the answer or what must be settled first. */
async function asked(
  draft: KeptDraft<Draft>,
  form: CaseForm,
  run: () => Promise<void>,
  again: () => Promise<void>,
): Promise<void> {
  const state = byId("watch-state");
  byId("watch-problems").replaceChildren();
  mayTake(false);
  makeRoom(byId("watch-answer"));
  bringIntoSight(byId("answer-card"));
  state.textContent = say("Calculating …");
  try {
    await run();
    form.showProblems([]);
    state.textContent = "";
  } catch (error) {
    byId("watch-answer").replaceChildren();
    state.textContent = say("Something must be settled first.");
    const confirm = (field: string): void => {
      draft.now.asTyped.push(field);
      draft.changed();
      void again();
    };
    const homeless: Problem[] = form.showProblems(problemsIn(error));
    byId("watch-problems").replaceChildren(...problemsShown(homeless, confirm));
  }
}

/** Whether there is a report to hand over. */
function mayTake(may: boolean): void {
  for (const id of ["print", "as-pdf", "as-page"]) byId<HTMLButtonElement>(id).disabled = !may;
}

/** The report as a file. */
async function take(kind: "pdf" | "html", draft: KeptDraft<Draft>): Promise<void> {
  const state = byId("watch-state");
  state.textContent = say("Making the report …");
  try {
    download(`watch.${kind}`, await askFile("/api/watch/report/{kind}", { kind }, {}, body(draft)));
    state.textContent = "";
  } catch (error) {
    byId("watch-problems").replaceChildren(...problemsShown(problemsIn(error), () => undefined));
    state.textContent = "";
  }
}
