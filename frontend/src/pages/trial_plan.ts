/** Plans a trial: the trial file as text, its case files beside it, and at once what it can show. */

import type { Problem } from "../api";
import { ask, isAbort, problemsIn, Refused, sentence } from "../api";
import { blocksShown } from "../blocks";
import { byId, debounced, el } from "../dom";
import type { TrialFiles } from "../generated/api";
import { confirmButton } from "../questions";
import { forgetText, keepInMind, rememberedValue } from "../remembered";
import { start } from "../shell";
import { say } from "../words";

const KEPT = "woold.trial-plan";
const cases = new Map<string, string>();
let latest = 0;
let running: AbortController | null = null;

start(async () => {
  const text = byId<HTMLTextAreaElement>("trial-toml");
  const again = debounced(250, () => void plan());
  text.addEventListener("input", again);
  byId<HTMLInputElement>("loads").addEventListener("input", again);
  const caseFiles = byId<HTMLInputElement>("case-files");
  const trialFile = byId<HTMLInputElement>("trial-file");
  caseFiles.addEventListener("change", () => void addCases(caseFiles));
  trialFile.addEventListener("change", () => void openTrial(trialFile));
  byId("start").addEventListener("click", () => void begin());
  const kept = rememberedValue<{ toml: string; cases: [string, string][] } | null>(KEPT, null);
  for (const [name, toml] of kept?.cases ?? []) if (!cases.has(name)) cases.set(name, toml);
  showCases();
  const first = kept?.toml ?? (await ask("get", "/api/trial-plan")).toml;
  // A file that was opened meanwhile stays.
  if (!text.value) text.value = first;
  const me = await ask("get", "/api/me");
  byId("start").hidden = me.role !== "manage";
  byId("not-manager").hidden = me.role === "manage";
  // Files that were chosen before this script was there count too.
  if (caseFiles.files?.length) await addCases(caseFiles);
  if (trialFile.files?.length) await openTrial(trialFile);
  await plan();
});

function body(): TrialFiles & { cases: Record<string, string> } {
  const loads = Number.parseInt(byId<HTMLInputElement>("loads").value, 10);
  return {
    toml: byId<HTMLTextAreaElement>("trial-toml").value,
    cases: Object.fromEntries(cases),
    loads_per_treatment: Number.isFinite(loads) ? loads : null,
  };
}

async function openTrial(input: HTMLInputElement): Promise<void> {
  const file = input.files?.[0];
  if (file) byId<HTMLTextAreaElement>("trial-toml").value = await file.text();
  input.value = "";
  await plan();
}

async function addCases(input: HTMLInputElement): Promise<void> {
  for (const file of input.files ?? []) cases.set(file.name, await file.text());
  input.value = "";
  showCases();
  await plan();
}

function showCases(): void {
  byId("case-list").replaceChildren(
    ...[...cases.keys()].map((name) => {
      const drop = el("button", { type: "button", class: "quiet" }, say("Take {name} out", { name }));
      drop.addEventListener("click", () => {
        cases.delete(name);
        showCases();
        void plan();
      });
      return el("li", {}, el("code", {}, name), " ", drop);
    }),
  );
}

async function plan(): Promise<void> {
  latest += 1;
  const mine = latest;
  running?.abort();
  running = new AbortController();
  byId("plan").classList.add("stale");
  byId("plan-state").textContent = say("Calculating …");
  byId<HTMLButtonElement>("start").disabled = true;
  try {
    keepInMind(KEPT, JSON.stringify({ toml: body().toml, cases: [...cases] }));
    const found = await ask("post", "/api/trial-plan", { body: body(), signal: running.signal });
    if (mine !== latest) return;
    showProblems([]);
    byId("plan").replaceChildren(...blocksShown(found.blocks, { isFolded: true }));
    byId("plan").classList.remove("stale");
    byId("plan-state").textContent = say("This is what the trial file says now.");
    byId<HTMLButtonElement>("start").disabled = false;
  } catch (error) {
    if (isAbort(error) || mine !== latest) return;
    showProblems(problemsIn(error));
    byId("plan").replaceChildren();
    byId("plan-state").textContent = say("The trial file must be mended first.");
  }
}

function showProblems(problems: Problem[]): void {
  byId("problems").replaceChildren(
    ...problems.map((each) =>
      el(
        "p",
        { class: "error" },
        el("strong", {}, `${each.field}: `),
        sentence(each),
        ...(each.kind === "question" ? [" ", confirmButton(each.field, () => confirm(each.field))] : []),
      ),
    ),
  );
}

/** Keeps in the trial file that a value which was asked about is right. */
function confirm(field: string): void {
  const text = byId<HTMLTextAreaElement>("trial-toml");
  const right = JSON.stringify(field);
  const line = /^as_typed\s*=\s*\[([^\]]*)\]/m;
  const known = line.exec(text.value)?.[1]?.trim().replace(/,$/, "");
  const made = `as_typed = [${known ? `${known}, ` : ""}${right}]`;
  text.value = known === undefined ? `${made}\n${text.value}` : text.value.replace(line, () => made);
  void plan();
}

async function begin(): Promise<void> {
  try {
    const why = byId<HTMLInputElement>("reason").value.trim();
    const found = await ask("post", "/api/trials", { body: { ...body(), reason: why } });
    forgetText(KEPT);
    location.assign(`/trials/${encodeURIComponent(found.key)}`);
  } catch (error) {
    showProblems(problemsIn(error));
    byId("reason-field").hidden = !(error instanceof Refused && error.status === 409);
    byId("problems").scrollIntoView();
  }
}
