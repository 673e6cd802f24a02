/** Plans a trial: two cases, a form, and at once what the trial can show. */

import type { Problem } from "../api";
import { ask, isAbort, isOutOfReach, problemsIn, Refused, reason, told } from "../api";
import { blocksShown } from "../blocks";
import { byId, debounced, download, el } from "../dom";
import type { Section, Table } from "../draft";
import { putAt } from "../draft";
import { fieldWords, learnFields } from "../field_words";
import { CaseForm } from "../form";
import type { SentFile, TrialFields } from "../generated/api";
import { KeptDraft } from "../kept_draft";
import { problemsShown } from "../questions";
import { sentFile, whenChosen } from "../sent_file";
import { start } from "../shell";
import type { PlanDraft } from "../trial/plan_cases";
import { CaseChoice, fileName } from "../trial/plan_cases";
import { withUsual } from "../usual";
import { wired } from "../wired";
import { say } from "../words";

/** Groups that are open at first: what no trial is without. */
const OPEN = new Set(["", "load_types", "aim"]);

const AGAIN_MS = 3_000;
let latest = 0;
let running: AbortController | null = null;

start(main);

async function main(): Promise<void> {
  const fields = await ask("get", "/api/trial-plan");
  const starter = fields.starter as Table;
  const sections: Section[] = withUsual(fields.sections);
  learnFields(sections);
  const loads = byId<HTMLInputElement>("loads");
  const draft: PlanDraft = new KeptDraft("trial-plan", { trial: structuredClone(starter), cases: {}, loads: "" }, () =>
    showAll(),
  );
  const again = debounced(250, () => void plan(draft, form));
  const changed = (): void => {
    draft.changed();
    again();
  };
  offerCases(sections, draft);
  const form = new CaseForm(byId("trial-fields"), { sections }, draft.now.trial, changed, undefined, (path) =>
    OPEN.has(path),
  );
  const choice = new CaseChoice(draft, (name) => {
    const { [name]: _, ...cases } = draft.now.cases;
    draft.replace({ cases });
  });
  const showAll = (): void => {
    loads.value = draft.now.loads;
    offerCases(sections, draft);
    form.replace(draft.now.trial);
    choice.show();
    void plan(draft, form);
  };
  // What was typed before this script was there counts too.
  if (loads.value) draft.now.loads = loads.value;
  loads.value = draft.now.loads;
  loads.addEventListener("input", () => {
    draft.now.loads = loads.value;
    changed();
  });
  wireFiles(draft, starter);
  wireCases(draft, choice);
  wirePilot(draft);
  byId("start").addEventListener("click", () => void begin(draft, form));
  showWrittenDown(fields);
  const me = await ask("get", "/api/me");
  byId("start").hidden = me.role !== "manage";
  byId("not-manager").hidden = me.role === "manage";
  wired();
  choice.show();
  void choice.load().catch((error: unknown) => tell("case-note", reason(error), true));
  await plan(draft, form);
}

/** The fields that name a case offer those that the trial has. */
function offerCases(sections: Section[], draft: PlanDraft): void {
  const types = sections.find((each) => each.name === "load_types");
  for (const field of types?.fields ?? []) {
    if (field.name !== "baseline" && field.name !== "candidate") continue;
    const typed = Array.isArray(draft.now.trial.load_types) ? draft.now.trial.load_types : [];
    const named = typed.flatMap((each) => {
      const name = (each as Table)[field.name];
      return typeof name === "string" ? [name] : [];
    });
    field.type = "choice";
    // A case that is named but not there stays to be seen.
    field.choices = [...new Set([...Object.keys(draft.now.cases), ...named])].map((name) => ({
      code: name,
      label: name,
    }));
  }
}

function showWrittenDown(fields: TrialFields): void {
  byId("written-down").replaceChildren(...blocksShown(fields.written_down, { isFolded: true }));
}

function wireFiles(draft: PlanDraft, starter: Table): void {
  const note = (text: string, isError = false): void => tell("file-note", text, isError);
  byId("new-trial").addEventListener("click", () => {
    draft.replace({ trial: structuredClone(starter), cases: {}, loads: "" });
    note(say("A new trial to start from. Undo brings the other one back."));
  });
  byId("save-trial").addEventListener("click", () => {
    const { trial, cases } = draft.now;
    const key = typeof trial.key === "string" ? trial.key : "";
    ask("post", "/api/trial-plan/write", { body: { trial, cases: {} } })
      .then(({ toml }) => {
        download(fileName(key || "trial"), toml, "application/toml");
        for (const [name, text] of Object.entries(cases)) download(name, text, "application/toml");
        note(say("Downloaded, with the case files that it names."));
      })
      .catch((error: unknown) => note(reason(error), true));
  });
  const input = byId<HTMLInputElement>("trial-file");
  const open = async (): Promise<void> => {
    const file = input.files?.[0];
    if (!file) return;
    const toml = await file.text();
    input.value = "";
    try {
      const { trial } = await ask("post", "/api/trial-plan/read", { body: { toml } });
      draft.replace({ trial: trial as Table });
      note(say("Opened {name}. Undo brings the other one back.", { name: file.name }));
    } catch (error) {
      note(problemsIn(error).map(told).join(" "), true);
    }
  };
  input.addEventListener("change", () => void open());
  if (input.files?.length) void open();
}

function wireCases(draft: PlanDraft, choice: CaseChoice): void {
  const note = (text: string, isError = false): void => tell("case-note", text, isError);
  const input = byId<HTMLInputElement>("case-files");
  const add = async (): Promise<void> => {
    const files = [...(input.files ?? [])];
    const found = await Promise.all(files.map(async (each) => [each.name, await each.text()] as const));
    input.value = "";
    if (!found.length) return;
    draft.replace({ cases: { ...draft.now.cases, ...Object.fromEntries(found) } });
    note(say("Added {names}.", { names: found.map(([name]) => name).join(", ") }));
  };
  input.addEventListener("change", () => void add());
  // Files that were chosen before this script was there count too.
  if (input.files?.length) void add();
  const use = async (): Promise<void> => {
    const [baseline, candidate] = [await choice.chosen("baseline"), await choice.chosen("candidate")];
    if (!baseline || !candidate) {
      note(say("Choose a case for before and one for after."), true);
      byId(baseline ? "candidate-case" : "baseline-case").focus();
      return;
    }
    if (baseline.name === candidate.name && baseline.toml !== candidate.toml)
      candidate.name = fileName(`${candidate.name.replace(/\.toml$/, "")}-candidate`);
    const body = { baseline, candidate, trial: untouched(draft) ? {} : draft.now.trial };
    const found = await ask("post", "/api/trial-plan/cases", { body });
    const cases = { ...draft.now.cases, [baseline.name]: baseline.toml, [candidate.name]: candidate.toml };
    draft.replace({ trial: found.trial as Table, cases });
    byId("case-findings").replaceChildren(...blocksShown(found.findings));
    note(say("The trial compares {one} with {other}.", { one: baseline.name, other: candidate.name }));
  };
  byId("use-cases").addEventListener("click", () => {
    use().catch((error: unknown) => note(problemsIn(error).map(told).join(" "), true));
  });
}

/** The spread of film mass comes from a few loads that were weighed. */
function wirePilot(draft: PlanDraft): void {
  const host = byId("pilot-note");
  const use = async (file: SentFile, asTyped: string[]): Promise<void> => {
    try {
      const found = await ask("post", "/api/trial-plan/pilot", { body: { file, as_typed: asTyped } });
      const trial = structuredClone(draft.now.trial);
      putAt(trial, "aim.film_spread", { value: found.film_spread, origin: found.told });
      draft.replace({ trial });
      const { film_spread: spread, told: from } = found;
      host.replaceChildren(
        el(
          "p",
          { class: "quiet-words" },
          say("The plan rests on a spread of {spread}, from {from}.", { spread, from }),
        ),
      );
    } catch (error) {
      host.replaceChildren(...problemsShown(problemsIn(error), (field) => void use(file, [...asTyped, field])));
    }
  };
  byId("use-pilot").addEventListener("click", () => {
    const file = new File([byId<HTMLTextAreaElement>("pilot").value], "pilot.csv");
    void sentFile(file).then((sent) => use(sent, []));
  });
  whenChosen(byId<HTMLInputElement>("pilot-file"), ([chosen]) => {
    if (chosen) void sentFile(chosen).then((sent) => use(sent, []));
  });
}

/** Whether nothing of the trial was chosen by anybody yet: then all of it may follow from the cases. */
function untouched(draft: PlanDraft): boolean {
  return !Object.keys(draft.now.cases).length && !Array.isArray(draft.now.trial.as_typed);
}

function tell(id: string, text: string, isError = false): void {
  const line = byId(id);
  line.textContent = text;
  line.className = isError ? "error" : "quiet-words";
}

function body(draft: PlanDraft): {
  trial: Table;
  cases: Record<string, string>;
  loads_per_treatment: number | null;
} {
  const loads = Number.parseInt(draft.now.loads, 10);
  return {
    trial: draft.now.trial,
    cases: draft.now.cases,
    loads_per_treatment: Number.isFinite(loads) ? loads : null,
  };
}

async function plan(draft: PlanDraft, form: CaseForm): Promise<void> {
  latest += 1;
  const mine = latest;
  running?.abort();
  running = new AbortController();
  byId("plan").classList.add("stale");
  byId("plan-state").textContent = say("Calculating …");
  const begin = byId<HTMLButtonElement>("start");
  begin.disabled = true;
  try {
    const found = await ask("post", "/api/trial-plan", { body: body(draft), signal: running.signal });
    if (mine !== latest) return;
    showProblems(form, found.problems);
    // The order of the loads is long, and read only where they are wrapped.
    const [order] = found.blocks.slice(-1);
    byId("plan").replaceChildren(
      ...blocksShown(found.blocks.slice(0, -1)),
      ...(order ? blocksShown([order], { isFolded: true }) : []),
    );
    byId("plan").classList.remove("stale");
    byId("plan-state").textContent = found.problems.length
      ? say("It cannot be started like this: see what must be mended.")
      : say("This is what the form says now.");
    begin.disabled = found.problems.length > 0;
  } catch (error) {
    if (isAbort(error) || mine !== latest) return;
    const problems = problemsIn(error);
    showProblems(form, problems);
    byId("plan").replaceChildren();
    const isOut = isOutOfReach(problems);
    byId("plan-state").textContent = isOut
      ? say("The server is out of reach; it is asked again by itself")
      : say("The form must be mended first.");
    if (isOut) setTimeout(() => mine === latest && void plan(draft, form), AGAIN_MS);
  }
}

/** Each problem at its field; those without one beside the answer, all of them with a way to their field. */
function showProblems(form: CaseForm, problems: Problem[]): void {
  const homeless = form.showProblems(problems);
  const placed = problems.filter((each) => !homeless.includes(each));
  byId("problems").replaceChildren(
    ...problemsShown(homeless, (field) => form.confirm(field)),
    ...placed.map((each) =>
      el(
        "p",
        { class: "error" },
        el(
          "button",
          { type: "button", class: "link", click: () => void form.focus(each.field) },
          fieldWords(each.field),
        ),
        ` ${told({ ...each, field: "" })}`,
      ),
    ),
  );
}

async function begin(draft: PlanDraft, form: CaseForm): Promise<void> {
  try {
    const why = byId<HTMLInputElement>("reason").value.trim();
    const found = await ask("post", "/api/trials", { body: { ...body(draft), reason: why } });
    draft.forget();
    location.assign(`/trials/${encodeURIComponent(found.key)}`);
  } catch (error) {
    showProblems(form, problemsIn(error));
    byId("reason-field").hidden = !(error instanceof Refused && error.status === 409);
    byId("problems").scrollIntoView();
  }
}
