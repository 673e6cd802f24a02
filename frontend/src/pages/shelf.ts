/** The shelf: things by name with their versions, taken into the case in hand, only ever added to. */

import type { Problem } from "../api";
import { ask, problemsIn } from "../api";
import { blocksShown } from "../blocks";
import { byId, el } from "../dom";
import type { Table } from "../draft";
import { titleOf } from "../draft";
import { learnFields } from "../field_words";
import { problemsShown } from "../questions";
import { shelfFile } from "../shelf_file";
import { ThingForm } from "../shelf_form";
import type { Thing } from "../shelf_lines";
import { keptLines, when } from "../shelf_lines";
import { openShell, start } from "../shell";
import { say } from "../words";

start(async () => {
  const forms = await ask("get", "/api/shelf/forms");
  const shell = await openShell(() => undefined);
  learnFields(forms.forms.flatMap((each) => each.sections));
  const hand = shell.draft;
  let kinds: Awaited<ReturnType<typeof list>> = [];
  let chosen: Thing | null = null;

  const title = (): void => {
    byId("case-title").textContent = titleOf(hand.case);
  };
  hand.whenReplaced(title);
  title();

  const form = new ThingForm(shell, forms, {
    kindsNow: () => kinds,
    added: async (thing, told) => {
      await refresh();
      await open(thing);
      byId("add-note").textContent = told;
    },
  });

  const refresh = async (): Promise<void> => {
    kinds = await list();
    const count = kinds.reduce((sum, each) => sum + each.things.length, 0);
    byId("nothing").hidden = count > 0;
    byId("download-shelf").hidden = count === 0;
    byId("kept").replaceChildren(...keptLines(kinds, chosen, (thing) => void open(thing, true)));
    form.showKinds();
  };

  const open = async (thing: Thing, isAsked = false): Promise<void> => {
    const view = await ask("get", "/api/shelf/thing", { query: thing });
    chosen = thing;
    history.replaceState(null, "", `?${new URLSearchParams({ kind: thing.kind, name: thing.name })}`);
    for (const each of document.querySelectorAll<HTMLElement>("#kept button")) {
      const isIt = each.dataset.kind === thing.kind && each.dataset.name === thing.name;
      if (isIt) each.setAttribute("aria-current", "true");
      else each.removeAttribute("aria-current");
    }
    byId("none-chosen").hidden = true;
    byId("thing").hidden = false;
    byId("take-note").replaceChildren();
    byId("take-problems").replaceChildren();
    byId("thing-name").textContent = `@${thing.name}`;
    byId("thing-blocks").replaceChildren(...blocksShown(view.blocks));
    const version = byId<HTMLSelectElement>("thing-version");
    version.replaceChildren(
      ...view.versions.map((each) => el("option", { value: String(each.version) }, String(each.version))),
    );
    const origin = (): void => {
      const its = view.versions.find((each) => String(each.version) === version.value);
      byId("thing-origin").textContent = its
        ? say("Put there by {who}, {when}", { who: its.by, when: when(its.at) })
        : "";
    };
    version.onchange = origin;
    origin();
    byId("take").onclick = () => void take(thing, Number(version.value));
    byId("change").onclick = () => {
      const its = view.versions.find((each) => String(each.version) === version.value);
      if (its) form.change(thing, its.typed as Table, its.as_typed);
    };
    if (isAsked) byId("thing-name").focus();
  };

  const take = async (thing: Thing, version: number): Promise<void> => {
    const note = byId("take-note");
    note.replaceChildren();
    let problems: Problem[] = [];
    try {
      const { case: table } = await ask("post", "/api/shelf/take", { body: { case: hand.case, ...thing, version } });
      hand.replace(table as Table, { id: hand.id, revision: hand.revision, isSaved: false });
      note.append(
        say("Version {version} of {name} stands in the case now; Undo takes it back.", {
          version,
          name: `@${thing.name}`,
        }),
        " ",
        el("a", { href: "/" }, say("To the bench")),
      );
    } catch (error) {
      problems = problemsIn(error);
    }
    byId("take-problems").replaceChildren(...problemsShown(problems, () => undefined));
  };

  shelfFile(async (told) => {
    await refresh();
    byId("file-note").textContent = told;
  });
  await refresh();
  const asked = new URLSearchParams(location.search);
  form.begin(asked.get("add"));
  const [kind, name] = [asked.get("kind"), asked.get("name")];
  const known = kinds.find((each) => each.kind === kind && each.things.some((one) => one.name === name));
  if (known && name) await open({ kind: known.kind as Thing["kind"], name });
});

async function list() {
  return (await ask("get", "/api/shelf")).kinds;
}
