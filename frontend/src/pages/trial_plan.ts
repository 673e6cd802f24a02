/** Plans a trial: the trial file as text, its case files beside it, and at once what it can show. */

import type { Problem } from "../api";
import { Refused, get, isAbort, reason, send, sentence } from "../api";
import { byId, debounced, el } from "../dom";
import { start } from "../shell";

interface Sight {
  loads: number;
  half_width: number;
  film_power: number;
  containment_power: number;
  both_power: number;
  smallest_saving: number;
  smallest_margin: number;
}

interface Plan {
  key: string;
  title: string;
  plan: {
    loads_per_treatment: number;
    loads_by_type: Record<string, number>;
    sight: Sight;
    table: Sight[];
    order: { number: number; block: string; shift: string; roll: string; treatment: string; load_type: string }[];
  };
}

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
  const kept = JSON.parse(localStorage.getItem(KEPT) ?? "null") as { toml: string; cases: [string, string][] } | null;
  for (const [name, toml] of kept?.cases ?? []) if (!cases.has(name)) cases.set(name, toml);
  showCases();
  const first = kept?.toml ?? (await get<{ toml: string }>("/api/trial-plan")).toml;
  // A file that was opened meanwhile stays.
  if (!text.value) text.value = first;
  const me = await get<{ role: string }>("/api/me");
  byId("start").hidden = me.role !== "manage";
  byId("not-manager").hidden = me.role === "manage";
  // Files that were chosen before this script was there count too.
  if (caseFiles.files?.length) await addCases(caseFiles);
  if (trialFile.files?.length) await openTrial(trialFile);
  await plan();
});

function body(): { toml: string; cases: Record<string, string>; loads_per_treatment: number | null } {
  const loads = Number.parseInt(byId<HTMLInputElement>("loads").value, 10);
  return { toml: byId<HTMLTextAreaElement>("trial-toml").value, cases: Object.fromEntries(cases), loads_per_treatment: Number.isFinite(loads) ? loads : null };
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
      const drop = el("button", { type: "button", class: "quiet" }, `Take ${name} out`);
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
  byId("plan-state").textContent = "Calculating …";
  byId<HTMLButtonElement>("start").disabled = true;
  try {
    localStorage.setItem(KEPT, JSON.stringify({ toml: body().toml, cases: [...cases] }));
    const found = await send<Plan>("POST", "/api/trial-plan", body(), running.signal);
    if (mine !== latest) return;
    showProblems([]);
    byId("plan").replaceChildren(...drawn(found));
    byId("plan").classList.remove("stale");
    byId("plan-state").textContent = "This is what the trial file says now.";
    byId<HTMLButtonElement>("start").disabled = false;
  } catch (error) {
    if (isAbort(error) || mine !== latest) return;
    showProblems(error instanceof Refused ? error.problems : [{ field: "", given: reason(error), allowed: "", todo: "" }]);
    byId("plan").replaceChildren();
    byId("plan-state").textContent = "The trial file must be mended first.";
  }
}

function showProblems(problems: Problem[]): void {
  byId("problems").replaceChildren(...problems.map((each) => el("p", { class: "error" }, el("strong", {}, `${each.field}: `), sentence(each))));
}

const percent = (share: number, digits = 0): string => `${(100 * share).toFixed(digits)} %`;

function drawn({ plan }: Plan): HTMLElement[] {
  const { sight } = plan;
  const types = Object.entries(plan.loads_by_type).map(([name, count]) => `${count} of ${name}`).join(", ");
  const head = el("tr", {}, ...["loads of each treatment", "film saving known to", "shows the saving", "shows containment", "shows both", "smallest saving seen"].map((words) => el("th", { scope: "col" }, words)));
  const rows = plan.table.map((each) => {
    const marks = [String(each.loads), `± ${percent(each.half_width, 1)}`, percent(each.film_power), percent(each.containment_power), percent(each.both_power), percent(each.smallest_saving, 1)];
    return el("tr", { class: each.loads === sight.loads ? "chosen" : null }, el("th", { scope: "row" }, marks[0] ?? ""), ...marks.slice(1).map((words) => el("td", {}, words)));
  });
  const order = plan.order.map((each) => el("tr", {}, el("th", { scope: "row" }, String(each.number)), ...[each.treatment, each.load_type, each.block, each.shift, each.roll].map((words) => el("td", {}, words))));
  const orderHead = el("tr", {}, ...["load", "treatment", "load type", "block", "shift", "roll"].map((words) => el("th", { scope: "col" }, words)));
  return [
    el("p", { class: "lead" }, `${plan.loads_per_treatment} loads of each treatment (${types}) show both with a chance of ${percent(sight.both_power)} or more.`),
    el("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": "What so many loads can show" }, el("table", {}, el("caption", {}, "What so many loads can show, if the spreads of the trial file are right"), el("thead", {}, head), el("tbody", {}, ...rows))),
    el("details", {}, el("summary", {}, "The order in which the loads are wrapped"), el("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": "Order of the loads" }, el("table", {}, el("thead", {}, orderHead), el("tbody", {}, ...order)))),
  ];
}

async function begin(): Promise<void> {
  try {
    const why = byId<HTMLInputElement>("reason").value.trim();
    const found = await send<Plan>("POST", "/api/trials", { ...body(), reason: why });
    localStorage.removeItem(KEPT);
    location.assign(`/trials/${encodeURIComponent(found.key)}`);
  } catch (error) {
    const problems = error instanceof Refused ? error.problems : [{ field: "", given: reason(error), allowed: "", todo: "" }];
    showProblems(problems);
    byId("reason-field").hidden = !(error instanceof Refused && error.status === 409);
    byId("problems").scrollIntoView();
  }
}
