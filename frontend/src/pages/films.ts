/** Films of the shelf on the carriage in hand, and a film's curve from a tensile test. */

import { ask, problemsIn, sentence } from "../api";
import { blocksShown } from "../blocks";
import { CurvePanel } from "../curve_panel";
import { byId, el } from "../dom";
import type { Table } from "../draft";
import { confirmed, titleOf } from "../draft";
import type { MatchView } from "../generated/api";
import { Live, stateWords } from "../live";
import { problemsShown } from "../questions";
import { openShell, start } from "../shell";
import { say } from "../words";

start(async () => {
  const films = (await ask("get", "/api/shelf")).kinds.find((each) => each.kind === "films")?.things ?? [];
  const shell = await openShell(() => {
    again();
    void curve.again();
  });
  const { draft } = shell;
  const title = (): void => {
    byId("case-title").textContent = titleOf(draft.case);
  };
  title();

  const live = new Live<MatchView>(
    (signal) =>
      ask("post", "/api/film/match", { body: { case: draft.case }, query: { units: shell.show.system }, signal }),
    (view) => {
      byId<HTMLButtonElement>("take-film").disabled = false;
      const best = view.fitting[0];
      const choice = byId<HTMLSelectElement>("match-film");
      choice.replaceChildren(
        ...view.names.map((name) =>
          el(
            "option",
            { value: name },
            view.fitting.includes(name) ? `@${name}` : say("{film} (does not suit)", { film: `@${name}` }),
          ),
        ),
      );
      if (best) choice.value = best;
      byId("match").replaceChildren(...blocksShown(view.blocks));
      byId("match-cautions").replaceChildren(...blocksShown(view.cautions));
    },
    (state, problems) => {
      byId("match-panel").dataset.state = state;
      byId("match-state").textContent = stateWords(state);
      const confirm = (field: string): void => {
        confirmed(draft.case, field);
        draft.changed();
        live.changed();
      };
      if (state !== "asking") byId("match-problems").replaceChildren(...problemsShown(problems, confirm));
    },
  );
  const again = (): void => {
    byId("no-films").hidden = films.length > 0;
    // Its room is there before the answer is.
    byId("match-take").hidden = films.length === 0;
    if (films.length > 0) live.changed();
    else byId("match-state").textContent = "";
  };
  byId("take-film").addEventListener("click", async () => {
    const name = byId<HTMLSelectElement>("match-film").value;
    const note = byId("match-note");
    try {
      const body = { case: draft.case, kind: "films" as const, name };
      const { case: table } = await ask("post", "/api/shelf/take", { body });
      draft.replace(table as Table, { id: draft.id, revision: draft.revision, isSaved: false });
      const words = say("The case on the bench has {film} now; Undo takes it back.", { film: `@${name}` });
      note.replaceChildren(words, " ", el("a", { href: "/" }, say("To the bench")));
    } catch (error) {
      note.replaceChildren(problemsIn(error).map(sentence).join(" "));
    }
  });
  draft.whenReplaced(() => {
    title();
    again();
  });
  const curve = new CurvePanel(
    shell,
    films.map((each) => each.name),
  );
  again();
});
