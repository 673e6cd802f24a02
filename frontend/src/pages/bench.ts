/** The bench: the case, the wrapped load, and what it takes and holds. */

import type { Problem } from "../api";
import { ask, brief, isOutOfReach, told } from "../api";
import { keepBegun } from "../begun";
import { blocksShown, figures } from "../blocks";
import { CaseShelf } from "../case_shelf";
import { byId } from "../dom";
import { type Table, titleOf } from "../draft";
import { fileBar } from "../files";
import { foretold } from "../foretold";
import { CaseForm } from "../form";
import type { Predicted } from "../generated/api";
import { Glance, noAnswer } from "../glance";
import type { State } from "../live";
import { Live } from "../live";
import { measureFirst } from "../measure_first";
import { profileChart } from "../prediction_charts";
import { problemsShown } from "../questions";
import { keepInMind, remembered } from "../remembered";
import { openShell, start } from "../shell";
import { WayPanel } from "../way_panel";
import { say } from "../words";
import { WrappedLoad } from "../wrapped_load";

start(async () => {
  let isShown = false;
  const shell = await openShell(() => live.changed());
  const load = new WrappedLoad(shell.show);
  // The verdict with the load in motion, where that is the worse: the safe side counts.
  let overruled: Predicted["answer"] = [];
  const glance = new Glance(byId("glance"));
  const way = new WayPanel(
    shell,
    ({ overruled: verdict, overruled_glance, simulation }) => {
      overruled = verdict;
      if (verdict.length === 0) return;
      showVerdict(verdict);
      glance.overrule(overruled_glance, simulation.holds);
    },
    (field) => form.confirm(field),
    () => {
      form.replace(shell.draft.case);
      files.changed();
      live.changed();
    },
  );
  const first = measureFirst(
    shell,
    () => form.ways,
    (field) => form.confirm(field),
  );
  const taught = foretold(shell, (field) => form.confirm(field));
  welcome();
  foldScene();

  const form = new CaseForm(byId("case-form"), shell.fields, shell.draft.case, () => {
    files.changed();
    live.changed();
    shelf.changed();
  });
  const shelf = new CaseShelf(shell.draft);
  const files = fileBar(shell.draft, shell.fields.starter as Table);
  shell.draft.whenReplaced(() => {
    form.replace(shell.draft.case);
    live.changed();
  });

  // How sure the verdict is takes seconds: it is asked for once the case has rested.
  const sure = new Live(
    (signal) =>
      ask("post", "/api/verdict", { body: { case: shell.draft.case }, query: { units: shell.show.system }, signal }),
    (judged) => showVerdict(judged.answer),
    () => undefined,
    1500,
  );
  const showVerdict = (answer: Predicted["answer"]): void => {
    const shown = overruled.length > 0 ? overruled : answer;
    byId("verdict").replaceChildren(...blocksShown(shown, form.ways));
  };

  const showView = (view: Predicted): void => {
    isShown = true;
    overruled = [];
    glance.show(view.glance, view.verdict.holds);
    form.showIdle(view.idle);
    showVerdict(view.answer);
    if (view.verdict.asked) sure.changed();
    byId("figures").replaceChildren(...figures(view.figures));
    byId("profile").replaceChildren(
      profileChart(view.prediction, view.profile, shell.show, byId("profile").clientWidth),
    );
    byId("findings").replaceChildren(...blocksShown(view.findings, form.ways));
    byId("numbers").replaceChildren(...blocksShown(view.numbers, { ...form.ways, isFolded: true }));
    byId("cautions").replaceChildren(...blocksShown(view.cautions));
    load.setView(view);
    way.changed();
    first.changed();
    taught.changed();
  };

  const tell = (state: State, problems: Problem[]): void => {
    if (state !== "fresh") sure.stop();
    document.body.dataset.state = state;
    byId("case-title").textContent = titleOf(shell.draft.case);
    const homeless = state === "asking" ? [] : form.showProblems(problems);
    byId("state").textContent = stateWords(state, problems, isShown);
    byId("problems").replaceChildren(...problemsShown(homeless, (field) => form.confirm(field)));
    const [worst] = problems;
    if (worst) glance.none(noAnswer(problems), told(brief(worst)));
  };

  const live = new Live(
    (signal) =>
      ask("post", "/api/predict", { body: { case: shell.draft.case }, query: { units: shell.show.system }, signal }),
    showView,
    tell,
  );
  await live.now();
  await shelf.start();
});

/** The words for newcomers go once they are read, and do not come back. */
function welcome(): void {
  const words = document.getElementById("welcome");
  if (!words) return;
  const close = (): void => {
    keepBegun();
    words.remove();
  };
  byId("welcome-close").addEventListener("click", () => {
    close();
    byId("main").focus();
  });
  byId("welcome-open").addEventListener("click", () => {
    close();
    byId("open").click();
  });
}

/** The drawing serves the answer: it can be folded away, and stays so. */
function foldScene(): void {
  const button = byId("fold-scene");
  const part = byId("scene-part");
  const fold = (isFolded: boolean): void => {
    part.hidden = isFolded;
    button.setAttribute("aria-expanded", String(!isFolded));
    button.textContent = isFolded ? say("Unfold the drawing") : say("Fold the drawing");
  };
  button.addEventListener("click", () => {
    fold(!part.hidden);
    keepInMind("woold.scene", part.hidden ? "folded" : "shown");
  });
  if (remembered("woold.scene") === "folded") fold(true);
}

function stateWords(state: State, problems: Problem[], isShown: boolean): string {
  if (state === "fresh") return say("Up to date");
  if (state === "asking") return say("Calculating …");
  if (isOutOfReach(problems)) return say("The server is out of reach; it is asked again by itself");
  const count = problems.length;
  if (isShown) {
    return count === 1
      ? say("1 value needs mending; the results shown are of an earlier case")
      : say("{count} values need mending; the results shown are of an earlier case", { count });
  }
  return count === 1
    ? say("1 value needs mending; no results yet")
    : say("{count} values need mending; no results yet", { count });
}
