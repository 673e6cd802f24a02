/** What a trial says so far: the verdict, film and containment with their intervals, and its records. */

import { address, ask, problemsIn, Refused, sentence, told } from "../api";
import { blocksShown } from "../blocks";
import { byId, el } from "../dom";
import { foretoldOfTrial } from "../foretold";
import type { Compared, Correction, Record as KeptRecord, OpenTrial, RecordList } from "../generated/api";
import { KeptFields } from "../kept_fields";
import { start } from "../shell";
import { ratioChart } from "../trial/ratio_chart";
import { wireSheets } from "../trial/sheet_upload";
import { wireCalibration, wireGauges } from "../trial/studies";
import { wired } from "../wired";
import { say, toSay, when } from "../words";

const key = decodeURIComponent(location.pathname.split("/")[2] ?? "");
const path = { key };
const AGAIN_MS = 15_000;
let mayWrite = false;
const typed = new KeptFields(byId("correct"));

const KINDS: Record<string, string> = {
  trial: toSay("trial"),
  load: toSay("load"),
  width: toSay("film width"),
  pull: toSay("pull reading"),
  gauge: toSay("gauge reading"),
  attempt: toSay("wrap that does not count"),
  photo: toSay("photo"),
};

start(main);

async function main(): Promise<void> {
  const trial = await ask("get", "/api/trials/{key}", { path });
  byId("trial-title").textContent = trial.title || trial.key;
  byId("question").textContent = trial.question;
  byId<HTMLAnchorElement>("to-form").href = `/trials/${encodeURIComponent(key)}/form`;
  byId<HTMLAnchorElement>("report").href = `/trials/${encodeURIComponent(key)}/report`;
  const paper = byId<HTMLSelectElement>("form-paper");
  paper.addEventListener("change", () => onPaper(paper.value));
  onPaper(paper.value);
  byId<HTMLAnchorElement>("export").href = address("/api/trials/{key}/export", path);
  const me = await ask("get", "/api/me");
  mayWrite = me.role !== "view";
  byId("to-form").hidden = !mayWrite;
  byId<HTMLInputElement>("sheet-file").closest("p")?.toggleAttribute("hidden", !mayWrite);
  wireSheets(key, refresh);
  wireGauges(key);
  wireHistory();
  foretoldOfTrial(key);
  await wireCalibration(key, mayWrite);
  wired();
  await refresh();
  setInterval(() => {
    if (document.visibilityState === "visible") refresh().catch(() => undefined); // what is shown stays; the next may come through
  }, AGAIN_MS);
}

/** Worksheet and forms are printed on the paper that was chosen. */
function onPaper(paper: string): void {
  byId<HTMLAnchorElement>("worksheet").href = address("/api/trials/{key}/worksheet", path, { paper });
  for (const kind of ["pages", "list"])
    byId<HTMLAnchorElement>(`form-${kind}`).href = address("/api/trials/{key}/form/{kind}", { key, kind }, { paper });
}

async function refresh(): Promise<void> {
  const trial = await ask("get", "/api/trials/{key}", { path });
  const wrapped = trial.order.filter((each) => each.is_wrapped).length;
  byId("progress").textContent = say("{wrapped} of {planned} planned loads wrapped", {
    wrapped,
    planned: trial.order.length,
  });
  showRecords(trial, await ask("get", "/api/trials/{key}/records", { path }));
  try {
    showComparison(await ask("get", "/api/trials/{key}/comparison", { path }));
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    byId("comparison").replaceChildren(
      el("p", { class: "headline" }, say("There is nothing to compare yet.")),
      ...error.problems.map((each) => el("p", { class: "quiet-words" }, told(each))),
    );
  }
}

function showComparison({ chart, blocks }: Compared): void {
  const host = byId("comparison");
  const [answer, ...rest] = blocksShown(blocks);
  host.replaceChildren(...(answer ? [answer] : []), ratioChart(chart, host.clientWidth), ...rest);
}

function showRecords(trial: OpenTrial, { records, blocks }: RecordList): void {
  byId("records").replaceChildren(...blocksShown(blocks));
  const loads = records.filter((each) => each.kind === "load");
  byId("no-records").hidden = loads.length > 0;
  byId("photo-list").replaceChildren(
    ...records
      .filter((each) => each.kind === "photo")
      .map((each) => {
        const href = address("/api/photos/{sha256}", { sha256: each.cells.photo?.[0] ?? "" });
        return el("li", {}, el("a", { href }, say("photo of load {load}", { load: each.cells.load?.[0] ?? "" })));
      }),
  );
  fillCorrection(trial, loads);
}

/** Every row ever written, once somebody wants to see it. */
function wireHistory(): void {
  const part = byId<HTMLDetailsElement>("history-part");
  part.addEventListener("toggle", () => {
    if (!part.open) return;
    ask("get", "/api/trials/{key}/history", { path })
      .then(({ records }) => byId("trial-history").replaceChildren(historyTable(records)))
      .catch((error: unknown) => byId("trial-history").replaceChildren(problemsIn(error).map(told).join(" ")));
  });
}

function historyTable(records: KeptRecord[]): HTMLElement {
  const heads = [say("when"), say("who"), say("what"), say("which"), say("reason")];
  // The plan has a row for each load, all written at the start.
  const told = records.filter((each) => each.kind !== "plan").reverse();
  const lines = told.map((each) => {
    const what = each.void ? say("taken out") : each.replaces === null ? say("written down") : say("corrected");
    const kind = KINDS[each.kind];
    const cells = [when(each.at), each.by, what, `${kind ? say(kind) : each.kind} ${each.key}`, each.reason];
    return el("tr", {}, ...cells.map((text) => el("td", { class: "words" }, text)));
  });
  return el(
    "table",
    {},
    el("caption", { class: "unseen" }, say("History of the records")),
    el("thead", {}, el("tr", {}, ...heads.map((each) => el("th", { scope: "col" }, each)))),
    el("tbody", {}, ...lines),
  );
}

function fillCorrection(trial: OpenTrial, loads: KeptRecord[]): void {
  const form = byId<HTMLFormElement>("correct");
  byId("correct-part").hidden = !mayWrite || loads.length === 0;
  if (form.contains(document.activeElement)) return;
  const load = byId<HTMLSelectElement>("correct-load");
  const field = byId<HTMLSelectElement>("correct-field");
  // What is half filled in stays as it is, whatever others write down meanwhile.
  const chosen = [load, field].map((each) => (each.options.length ? each.value : null));
  load.replaceChildren(
    ...loads
      .filter((each) => !each.void)
      .map((each) => el("option", { value: each.key }, each.cells.load?.[0] ?? each.key)),
  );
  const fields = trial.sheets.find((each) => each.kind === "load")?.fields ?? [];
  field.replaceChildren(
    ...fields.filter((each) => each.name !== "load").map((each) => el("option", { value: each.name }, each.label)),
    el("option", { value: "" }, say("take the whole load out")),
  );
  for (const [index, each] of [load, field].entries()) {
    const before = chosen[index] ?? null;
    if (before !== null && [...each.options].some((one) => one.value === before)) each.value = before;
  }
  if (chosen[0] === null) typed.restore();
  form.onsubmit = (event) => {
    event.preventDefault();
    void correct({ kind: "load", key: load.value, field: field.value || null });
  };
}

type Which = Pick<Correction, "kind" | "key" | "field">;

async function correct(which: Which, asTyped: string[] = []): Promise<void> {
  const note = byId("correct-note");
  const value = byId<HTMLInputElement>("correct-value");
  const why = byId<HTMLInputElement>("correct-reason");
  try {
    await ask("post", "/api/trials/{key}/corrections", {
      path,
      body: { ...which, value: value.value, reason: why.value, as_typed: asTyped },
    });
    note.textContent = say("Corrected. What stood there before is kept.");
    note.className = "quiet-words";
    value.value = "";
    why.value = "";
    typed.keep();
    (document.activeElement as HTMLElement | null)?.blur();
    await refresh();
  } catch (error) {
    const problems = problemsIn(error);
    note.textContent = problems.map(sentence).join(" ");
    note.className = "error";
    if (problems.length && problems.every((each) => each.kind === "question")) {
      const right = [...asTyped, ...problems.map((each) => each.field)];
      note.append(" ", el("button", { type: "button", click: () => void correct(which, right) }, say("It is right")));
    }
  }
}
