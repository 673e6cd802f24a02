/** Studies of a trial's records: its gauges, and cases fitted to what was measured. */

import { ask, problemsIn, told } from "../api";
import { blocksShown } from "../blocks";
import { byId, download, el, randomId } from "../dom";
import { loadFields, readToml, titleOf } from "../draft";
import { fieldWords } from "../field_words";
import type { Calibrated, GaugeStudied } from "../generated/api";
import { sentFile, whenChosen } from "../sent_file";
import { makeRoom, noRoom } from "../settled";
import { say } from "../words";

function tell(id: string, text: string, isBad = false): void {
  const line = byId(id);
  line.textContent = text;
  line.className = isBad ? "error" : "quiet-words";
}

/** Runs a study and shows it, or says why it cannot be made and what to do. */
async function study<T>(name: string, run: () => Promise<T>, show: (found: T) => void): Promise<void> {
  makeRoom(byId(`${name}-answer`));
  tell(`${name}-state`, say("Calculating … This may take a minute."));
  try {
    show(await run());
    tell(`${name}-state`, "");
  } catch (error) {
    byId(`${name}-answer`).replaceChildren();
    noRoom(byId(`${name}-answer`));
    tell(`${name}-state`, problemsIn(error).map(told).join(" "), true);
  }
}

export function wireGauges(key: string): void {
  const show = ({ blocks }: GaugeStudied): void => byId("gauge-answer").replaceChildren(...blocksShown(blocks));
  byId("gauge").addEventListener("click", () => {
    void study("gauge", () => ask("get", "/api/trials/{key}/gauge", { path: { key } }), show);
  });
  whenChosen(byId<HTMLInputElement>("gauge-file"), ([chosen]) => {
    if (!chosen) return;
    const run = async (): Promise<GaugeStudied> =>
      ask("post", "/api/gauge-study", { body: { file: await sentFile(chosen) } });
    void study("gauge", run, show);
  });
}

export async function wireCalibration(key: string, mayKeep: boolean): Promise<void> {
  const [{ fields }] = await Promise.all([ask("get", "/api/calibration-fields"), loadFields()]);
  const boxes = fields.map((each) => {
    const box = el("input", { type: "checkbox", value: each.field, checked: each.is_usual });
    return {
      box,
      row: el(
        "label",
        { class: "fit-choice" },
        box,
        el(
          "span",
          {},
          fieldWords(each.field),
          " ",
          el("span", { class: "quiet-words" }, say("told by: {what}", { what: each.told_by })),
        ),
      ),
    };
  });
  byId("calibrate-fields").append(...boxes.map(({ row }) => row));
  byId<HTMLFormElement>("calibrate").addEventListener("submit", (event) => {
    event.preventDefault();
    const chosen = boxes.filter(({ box }) => box.checked).map(({ box }) => box.value);
    const treatment = byId<HTMLSelectElement>("calibrate-treatment").value === "candidate" ? "candidate" : "baseline";
    byId("calibrated-cases").replaceChildren();
    if (!chosen.length) {
      tell("calibration-state", say("Choose at least one value to fit."), true);
      return;
    }
    const body = { treatment, fields: chosen } as const;
    void study(
      "calibration",
      () => ask("post", "/api/trials/{key}/calibration", { path: { key }, body }),
      (found) => showFit(found, mayKeep),
    );
  });
}

function showFit({ blocks, cases, problems }: Calibrated, mayKeep: boolean): void {
  byId("calibration-answer").replaceChildren(...blocksShown(blocks));
  byId("calibrated-cases").replaceChildren(
    ...problems.map((each) => el("p", { class: "error" }, told(each))),
    ...cases.map(({ name, toml }) => {
      const note = el("span", { role: "status" });
      const fileName = name.replace(/(\.toml)?$/, "-fitted.toml");
      const save = async (): Promise<void> => {
        try {
          const table = await readToml(toml);
          const title = say("{title} (fitted)", { title: titleOf(table) }).slice(0, 200);
          await ask("post", "/api/cases", { body: { id: randomId(), title, toml } });
          note.textContent = say("Kept among the saved cases as “{title}”: open it on the bench.", { title });
        } catch (error) {
          note.textContent = problemsIn(error).map(told).join(" ");
        }
      };
      return el(
        "p",
        { class: "choices-row" },
        el("code", {}, name),
        el(
          "button",
          { type: "button", click: () => download(fileName, toml, "application/toml") },
          say("Download {name}", { name: fileName }),
        ),
        mayKeep ? el("button", { type: "button", click: () => void save() }, say("Keep as a saved case")) : null,
        note,
      );
    }),
  );
}
