/** What a trial says so far: the verdict, film and containment with their intervals, and its records. */

import { Refused, get, reason, send, sentence } from "../api";
import { byId, el, svg } from "../dom";
import { start } from "../shell";
import type { OpenTrial } from "../trial/model";

interface Interval {
  low: number | null;
  high: number | null;
  method: string;
}

interface Zone {
  zone: string;
  baseline_n: number;
  candidate_n: number;
  ratio: number;
  interval: Interval;
  margin: number;
  is_not_lower: boolean;
  is_lower: boolean;
}

interface Comparison {
  loads_baseline: number;
  loads_candidate: number;
  verdict: { claim: string; sentence: string; reservations: string[] };
  film: { baseline_kg: number; candidate_kg: number; ratio: number; fieller: Interval };
  containment: Zone[];
  findings: { code: string; field: string; message: string }[];
  records_sha256: string;
}

interface KeptRecord {
  kind: string;
  key: string;
  cells: Record<string, [string, string, number | null]>;
  void: boolean;
  by: string;
  at: string;
  replaces: number | null;
  reason: string;
}

const key = decodeURIComponent(location.pathname.split("/")[2] ?? "");
const api = `/api/trials/${encodeURIComponent(key)}`;
const AGAIN_MS = 15_000;

start(async () => {
  const trial = await get<OpenTrial>(api);
  byId("trial-title").textContent = trial.title || trial.key;
  byId("question").textContent = trial.question;
  byId<HTMLAnchorElement>("to-form").href = `/trials/${encodeURIComponent(key)}/form`;
  byId<HTMLAnchorElement>("worksheet").href = `${api}/worksheet`;
  byId<HTMLAnchorElement>("report").href = `${api}/report/pdf`;
  byId<HTMLAnchorElement>("export").href = `${api}/export`;
  await refresh();
  setInterval(() => {
    if (document.visibilityState === "visible") void refresh();
  }, AGAIN_MS);
});

async function refresh(): Promise<void> {
  const trial = await get<OpenTrial>(api);
  const wrapped = trial.order.filter((each) => each.is_wrapped).length;
  byId("progress").textContent = `${wrapped} of ${trial.order.length} planned loads wrapped`;
  const { records } = await get<{ records: KeptRecord[] }>(`${api}/records`);
  showRecords(trial, records);
  try {
    showComparison((await get<{ comparison: Comparison }>(`${api}/comparison`)).comparison);
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    byId("comparison").replaceChildren(el("p", { class: "lead" }, "There is nothing to compare yet."), ...error.problems.map((each) => el("p", { class: "quiet-words" }, `${each.field}: ${sentence(each)}`)));
  }
}

const percent = (share: number): string => `${(100 * share).toFixed(1)} %`;

function showComparison(found: Comparison): void {
  const { film, verdict } = found;
  const rows = [
    { name: "film per load", ratio: film.ratio, interval: film.fieller, limit: null as number | null, words: `${(1000 * film.baseline_kg).toFixed(1)} g before, ${(1000 * film.candidate_kg).toFixed(1)} g after` },
    ...found.containment.map((each) => ({
      name: `containment, ${each.zone}`,
      ratio: each.ratio,
      interval: each.interval,
      limit: 1 - each.margin,
      words: `${each.baseline_n.toFixed(1)} N before, ${each.candidate_n.toFixed(1)} N after: ${each.is_lower ? "lower" : each.is_not_lower ? "not lower" : "not known yet"}`,
    })),
  ];
  byId("comparison").replaceChildren(
    el("p", { class: "lead" }, verdict.sentence),
    el("p", { class: "quiet-words" }, `${found.loads_baseline} loads before, ${found.loads_candidate} after.`),
    ratios(rows),
    el("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": "The same in numbers" }, table(rows)),
    el("ul", {}, ...[...verdict.reservations, ...found.findings.map((each) => each.message)].map((words) => el("li", {}, words))),
  );
}

interface RatioRow {
  name: string;
  ratio: number;
  interval: Interval;
  limit: number | null;
  words: string;
}

function interval(row: RatioRow): string {
  const { low, high } = row.interval;
  return low === null || high === null ? "not bounded yet" : `${percent(low)} to ${percent(high)}`;
}

function table(rows: RatioRow[]): HTMLElement {
  const head = el("tr", {}, ...["measured", "candidate / baseline", "95 % interval", "means"].map((words) => el("th", { scope: "col" }, words)));
  const body = rows.map((row) => el("tr", {}, el("th", { scope: "row" }, row.name), el("td", {}, percent(row.ratio)), el("td", {}, interval(row)), el("td", {}, row.words)));
  return el("table", {}, el("thead", {}, head), el("tbody", {}, ...body));
}

/** One line a ratio: its interval, a mark, and where "no change" and the margin stand. */
function ratios(rows: RatioRow[]): SVGSVGElement {
  const width = Math.min(640, Math.max(300, byId("comparison").clientWidth));
  const left = width < 480 ? 120 : 170;
  const step = 34;
  const values = rows.flatMap((row) => [row.ratio, row.interval.low ?? row.ratio, row.interval.high ?? row.ratio, row.limit ?? 1]);
  const low = Math.max(0, Math.min(0.85, ...values) - 0.02);
  const high = Math.min(3, Math.max(1.1, ...values) + 0.02);
  const x = (value: number): number => left + ((Math.min(Math.max(value, low), high) - low) / (high - low)) * (width - left - 12);
  const height = rows.length * step + 40;
  const node = svg("svg", { viewBox: `0 0 ${width} ${height}`, class: "chart ratios", role: "img", "aria-label": "Candidate over baseline with 95 % intervals; the table below says the same" });
  node.append(svg("line", { x1: x(1), x2: x(1), y1: 8, y2: rows.length * step + 8, class: "line second" }), svg("text", { x: x(1), y: height - 12, "text-anchor": "middle" }, "no change"));
  rows.forEach((row, place) => {
    const y = 24 + place * step;
    node.append(svg("text", { x: 4, y: y + 4, class: "axis" }, row.name));
    if (row.limit !== null) node.append(svg("line", { x1: x(row.limit), x2: x(row.limit), y1: y - 12, y2: y + 12, class: "line faint" }));
    const from = x(row.interval.low ?? low);
    const to = x(row.interval.high ?? high);
    node.append(svg("line", { x1: from, x2: to, y1: y, y2: y, class: "line" }), svg("circle", { cx: x(row.ratio), cy: y, r: 5, class: "mark" }));
  });
  if (rows.some((row) => row.limit !== null)) {
    const margin = rows.find((row) => row.limit !== null)?.limit ?? 1;
    node.append(svg("text", { x: x(margin), y: height - 12, "text-anchor": "end" }, "margin "));
  }
  return node;
}

function showRecords(trial: OpenTrial, records: KeptRecord[]): void {
  const sheet = trial.sheets.find((each) => each.kind === "load");
  if (!sheet) return;
  const loads = records.filter((each) => each.kind === "load");
  const used = sheet.fields.filter((field) => field.name !== "load" && loads.some((each) => each.cells[field.name]?.[0]));
  const head = el("tr", {}, ...["load", ...used.map((each) => each.label), "by", "state"].map((words) => el("th", { scope: "col" }, words)));
  const body = loads.map((each) => {
    const cells = used.map((field) => {
      const [typed, unit] = each.cells[field.name] ?? ["", ""];
      return el("td", {}, unit ? `${typed} ${unit}` : typed);
    });
    const state = each.void ? `taken out: ${each.reason}` : each.replaces !== null ? `corrected: ${each.reason}` : "";
    return el("tr", { class: each.void ? "void" : null }, el("th", { scope: "row" }, each.cells["load"]?.[0] ?? each.key), ...cells, el("td", {}, each.by), el("td", {}, state));
  });
  byId("records").replaceChildren(el("table", {}, el("thead", {}, head), el("tbody", {}, ...body)));
  byId("no-records").hidden = loads.length > 0;
  const photos = records.filter((each) => each.kind === "photo");
  byId("photo-list").replaceChildren(
    ...photos.map((each) => {
      const sha = each.cells["photo"]?.[0] ?? "";
      return el("li", {}, el("a", { href: `/api/photos/${sha}` }, `photo of load ${each.cells["load"]?.[0] ?? ""}`));
    }),
  );
  fillCorrection(trial, loads);
}

function fillCorrection(trial: OpenTrial, loads: KeptRecord[]): void {
  const form = byId<HTMLFormElement>("correct");
  byId("correct-part").hidden = loads.length === 0;
  if (form.contains(document.activeElement)) return;
  const load = byId<HTMLSelectElement>("correct-load");
  const field = byId<HTMLSelectElement>("correct-field");
  load.replaceChildren(...loads.filter((each) => !each.void).map((each) => el("option", { value: each.key }, each.cells["load"]?.[0] ?? each.key)));
  const fields = trial.sheets.find((each) => each.kind === "load")?.fields ?? [];
  field.replaceChildren(...fields.filter((each) => each.name !== "load").map((each) => el("option", { value: each.name }, each.label)), el("option", { value: "" }, "take the whole load out"));
  form.onsubmit = (event) => {
    event.preventDefault();
    void correct(load.value, field.value || null);
  };
}

async function correct(load: string, field: string | null): Promise<void> {
  const note = byId("correct-note");
  const value = byId<HTMLInputElement>("correct-value");
  const why = byId<HTMLInputElement>("correct-reason");
  try {
    await send("POST", `${api}/corrections`, { kind: "load", key: load, field, value: value.value, reason: why.value });
    note.textContent = "Corrected. What stood there before is kept.";
    note.className = "quiet-words";
    value.value = "";
    why.value = "";
    (document.activeElement as HTMLElement | null)?.blur();
    await refresh();
  } catch (error) {
    note.textContent = error instanceof Refused ? error.problems.map(sentence).join(" ") : reason(error);
    note.className = "error";
  }
}
