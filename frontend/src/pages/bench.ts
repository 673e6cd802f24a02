/** The bench: the case, the wrapped load, and what it takes and holds. */

import type { Problem } from "../api";
import { ask, told } from "../api";
import { blocksShown, figures } from "../blocks";
import { byId, el } from "../dom";
import type { Table } from "../draft";
import { fileBar } from "../files";
import { CaseForm } from "../form";
import type { Predicted } from "../generated/api";
import type { State } from "../live";
import { Live } from "../live";
import { profileChart } from "../prediction_charts";
import { openShell, start } from "../shell";
import { say } from "../words";
import { WrappedLoad } from "../wrapped_load";

start(async () => {
  let isShown = false;
  const shell = await openShell(() => live.changed());
  const load = new WrappedLoad(shell.show);

  const form = new CaseForm(byId("case-form"), shell.fields, shell.draft.case, () => {
    files.changed();
    live.changed();
  });
  const ways = { goTo: (field: string) => void form.focus(field), isField: (text: string) => form.has(text) };
  const files = fileBar(shell.draft, shell.fields.starter as Table, (table) => {
    form.replace(table);
    live.changed();
  });

  const showView = (view: Predicted): void => {
    isShown = true;
    byId("figures").replaceChildren(...figures(view.figures));
    byId("profile").replaceChildren(profileChart(view.prediction, shell.show));
    byId("findings").replaceChildren(...blocksShown(view.findings, ways));
    byId("numbers").replaceChildren(...blocksShown(view.numbers, { ...ways, isFolded: true }));
    byId("cautions").replaceChildren(...blocksShown(view.cautions));
    load.setView(view);
  };

  const tell = (state: State, problems: Problem[]): void => {
    document.body.dataset.state = state;
    const homeless = state === "asking" ? [] : form.showProblems(problems);
    byId("state").textContent = stateWords(state, problems.length, isShown);
    byId("problems").replaceChildren(...homeless.map((each) => el("p", { class: "error" }, told(each))));
  };

  const live = new Live(
    (signal) =>
      ask("post", "/api/predict", { body: { case: shell.draft.case }, query: { units: shell.show.system }, signal }),
    showView,
    tell,
  );
  await live.now();
});

function stateWords(state: State, count: number, isShown: boolean): string {
  if (state === "fresh") return say("Up to date");
  if (state === "asking") return say("Calculating …");
  if (isShown) {
    return count === 1
      ? say("1 value needs mending; the results shown are of an earlier case")
      : say("{count} values need mending; the results shown are of an earlier case", { count });
  }
  return count === 1
    ? say("1 value needs mending; no results yet")
    : say("{count} values need mending; no results yet", { count });
}
