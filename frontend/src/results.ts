/** What a prediction says, in words and numbers, in the reader's units. */

import type { Finding, HeightPoint, Prediction } from "./bench_data";
import type { Chart } from "./chart";
import { drawChart, legend } from "./chart";
import type { Child } from "./dom";
import { el } from "./dom";
import type { Shower } from "./units";
import { significant } from "./units";

type Row = [string, string, string?];

export function keyFigures(p: Prediction, show: Shower): HTMLElement {
  const figure = (name: string, value: string, more = ""): HTMLElement =>
    el("div", { class: "figure" }, el("dt", {}, name), el("dd", {}, value, more ? el("span", { class: "more-of-it" }, more) : null));
  return el(
    "dl",
    { class: "figures" },
    figure("film per load", show.show(p.film_mass_kg, "small_mass"), p.film_cost === null ? "" : `${p.film_cost.toFixed(3)} ${p.currency}`),
    figure(`least containment force after ${show.show(p.later_s, "hours")}`, show.show(p.containment_later_min_n, "force"), show.range(p.containment_later_low_n, p.containment_later_high_n, "force")),
    figure("layers, least", significant(p.layers_min, 2), `${p.layers_mean.toFixed(1)} on average`),
    figure("cycle time", show.show(p.cycle_time_s, "time"), `${p.turns.toFixed(1)} turns`),
  );
}

export function profileChart(p: Prediction, show: Shower): HTMLElement {
  const at = (value: (point: HeightPoint) => number): [number, number][] =>
    p.containment_profile.map((point) => [show.number(value(point), "force"), show.number(point.height_m, "length")]);
  const chart: Chart = {
    title: `Containment force over the height of the load: least ${show.show(p.containment_min_n, "force")} when wrapped. The table below says the same.`,
    x: { label: `containment force [${show.line("force").symbol}]`, from: 0 },
    y: { label: `above the deck [${show.line("length").symbol}]` },
    lines: [
      { points: at((point) => point.force_n), label: "when wrapped", style: "second" },
      { points: at((point) => point.force_later_n), label: `after ${show.show(p.later_s, "hours")}`, style: "main" },
    ],
    band: { low: at((point) => point.force_later_low_n), high: at((point) => point.force_later_high_n), label: "its range" },
    height: 300,
  };
  return el("figure", {}, drawChart(chart).node, legend(chart));
}

export function numbers(p: Prediction, show: Shower): HTMLElement[] {
  const film: Row[] = [
    ["film length per load", show.show(p.film_length_m, "film_length")],
    ["film per year", show.show(p.film_mass_per_year_kg, "mass"), p.film_cost_per_year === null ? "" : `${Math.round(p.film_cost_per_year).toLocaleString("en")} ${p.currency}`],
    ["pre-stretch set", show.show(p.prestretch_set, "elongation")],
    ["pre-stretch delivered", show.show(p.prestretch_delivered, "elongation")],
    ["stretch on the load", show.show(p.stretch_on_load, "elongation")],
    ["film width on the load", show.show(p.film_width_on_load_m, "small_length")],
    ["neck-down", show.show(p.neck_down_m, "small_length")],
    ["film speed round a turn", `${show.show(p.film_speed_min_m_per_s, "speed")} to ${show.show(p.film_speed_max_m_per_s, "speed")}`],
    ["loads per roll", p.loads_per_roll.toFixed(0)],
    ["roll changes per shift", p.roll_changes_per_shift.toFixed(1)],
  ];
  const hold: Row[] = [
    ["rise per turn", show.show(p.rise_per_turn_m, "small_length"), `overlap ${show.show(p.overlap_up, "fraction")}`],
    ["fall per turn", show.show(p.fall_per_turn_m, "small_length"), p.overlap_down === null ? "" : `overlap ${show.show(p.overlap_down, "fraction")}`],
    ["containment force, least", show.show(p.containment_min_n, "force"), "when wrapped"],
    ["hoop tension, most", show.show(p.hoop_tension_max_n_per_m, "tension_per_width")],
    ["force on a corner, most", show.show(p.corner_force_max_n_per_m, "tension_per_width")],
    ["pull-plate reading to expect", show.show(p.pull_plate_reading_n, "force"), "a check of quality, no predictor of transit survival"],
    ["film below the deck", show.show(p.film_below_deck_m, "small_length"), `${significant(p.pallet_lock_layers_min, 2)} layers, ${show.show(p.pallet_lock_force_n, "force")}`],
  ];
  if (p.overhang_m !== null) hold.push(["overhang over the pallet", show.show(p.overhang_m, "small_length")]);
  return [
    block("Film", rows(film)),
    block("Cover and hold", rows(hold)),
    fold("Turn by turn", partsTable(p, show)),
    fold("Over the height", heightsTable(p, show)),
  ];
}

function block(heading: string, body: HTMLElement): HTMLElement {
  return el("section", {}, el("h3", {}, heading), body);
}

function fold(heading: string, body: HTMLElement): HTMLElement {
  return el("details", { class: "fold" }, el("summary", {}, heading), body);
}

export function rows(all: Row[]): HTMLElement {
  return el("dl", { class: "rows" }, ...all.map(([name, value, more]) => el("div", {}, el("dt", {}, name), el("dd", {}, value, more ? el("span", { class: "more-of-it" }, more) : null))));
}

export function table(caption: string, heads: string[], body: Child[][]): HTMLElement {
  return el(
    "div",
    { class: "scroll", tabindex: "0", role: "region", "aria-label": caption },
    el(
      "table",
      {},
      el("caption", {}, caption),
      el("thead", {}, el("tr", {}, ...heads.map((head) => el("th", { scope: "col" }, head)))),
      el("tbody", {}, ...body.map((line) => el("tr", {}, ...line.map((cell, index) => (index ? el("td", {}, cell) : el("th", { scope: "row" }, cell)))))),
    ),
  );
}

function partsTable(p: Prediction, show: Shower): HTMLElement {
  return table(
    "Parts of the wrap program",
    ["part", "turns", "film length", "film", "time"],
    p.parts.map((part) => [part.part, part.turns.toFixed(2), show.short(part.film_length_m, "film_length"), show.short(part.film_mass_kg, "small_mass"), show.short(part.time_s, "time")]),
  );
}

function heightsTable(p: Prediction, show: Shower): HTMLElement {
  const points = p.containment_profile;
  const shown = points.filter((point, index) => index === 0 || index === points.length - 1 || point.layers_min !== points[index + 1]?.layers_min).reverse();
  return table(
    "Least layers and force over the height",
    ["above the deck", "layers", "when wrapped", `after ${show.short(p.later_s, "hours")}`],
    shown.map((point) => [show.short(point.height_m, "length"), significant(point.layers_min, 2), show.short(point.force_n, "force"), show.short(point.force_later_n, "force")]),
  );
}

export function findings(all: Finding[], goTo: (field: string) => void): HTMLElement {
  if (!all.length) return el("p", { class: "fine" }, "No findings.");
  return el(
    "ul",
    { class: "findings" },
    ...all.map((finding) =>
      el("li", {}, el("span", {}, finding.message), el("button", { type: "button", class: "link", click: () => goTo(finding.field) }, finding.field)),
    ),
  );
}

export function restsOn(p: Prediction, show: Shower, goTo: (field: string) => void): HTMLElement {
  return fold(
    `Rests on ${p.rests_on.length} placeholders that nobody measured`,
    table(
      "Placeholders",
      ["input", "value", "may lie in"],
      p.rests_on.map((each) => [
        el("button", { type: "button", class: "link", click: () => goTo(each.field) }, each.field),
        show.short(each.value, each.kind),
        show.range(each.low, each.high, each.kind),
      ]),
    ),
  );
}

export function cautions(all: string[]): HTMLElement {
  return el("div", { class: "cautions" }, el("h3", {}, "Take care"), el("ul", {}, ...all.map((each) => el("li", {}, each))));
}
