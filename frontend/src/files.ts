/** The case as a file: open, download, save on the server, duplicate. */

import { ask, Refused, reason } from "./api";
import { byId, download, el, randomId } from "./dom";
import type { Draft, Table } from "./draft";
import { keepDraft, readToml, titleOf, writeToml } from "./draft";
import { say } from "./words";

export interface FileBar {
  /** Says that the case in hand differs from what the server keeps. */
  changed(): void;
}

/** Wires the bar of buttons; `show` puts another case on the page. */
export function fileBar(draft: Draft, starter: Table, show: (table: Table) => void): FileBar {
  const note = byId("file-note");
  const list = byId<HTMLSelectElement>("saved-cases");
  const tell = (text: string): void => {
    note.textContent = text;
  };

  const take = (table: Table, id: string | null, revision: number | null): void => {
    Object.assign(draft, { case: table, id, revision, isSaved: id !== null });
    keepDraft(draft);
    show(table);
    mark();
  };
  const mark = (): void => {
    byId("save-state").textContent =
      draft.id === null ? say("Only in this browser") : draft.isSaved ? say("Saved") : say("Changes not saved yet");
    list.value = draft.id ?? "";
  };
  const guarded = (action: () => Promise<void>) => (): void => {
    action().catch((error: unknown) =>
      tell(
        error instanceof Refused && error.status === 409
          ? say("Somebody else saved this case meanwhile. Duplicate yours, then open theirs.")
          : reason(error),
      ),
    );
  };

  const refresh = async (): Promise<void> => {
    const { cases } = await ask("get", "/api/cases");
    list.replaceChildren(
      el("option", { value: "" }, cases.length ? say("Saved cases") : say("No saved cases yet")),
      ...cases.map((each) => el("option", { value: each.id }, each.title)),
    );
    mark();
  };
  const save = async (asNew: boolean): Promise<void> => {
    if (asNew) draft.case.title = say("{title} (copy)", { title: titleOf(draft.case) }).slice(0, 200);
    const toml = await writeToml(draft.case);
    const title = titleOf(draft.case);
    // The id is made here, so that a save that is sent twice makes one case.
    const isNew = asNew || draft.id === null;
    const kept = isNew
      ? await ask("post", "/api/cases", { body: { id: randomId(), title, toml } })
      : await ask("put", "/api/cases/{id}", {
          path: { id: draft.id ?? "" },
          body: { title, toml, revision: draft.revision ?? 1 },
        });
    Object.assign(draft, { id: kept.id, revision: kept.revision, isSaved: true });
    keepDraft(draft);
    if (asNew) show(draft.case);
    tell(asNew ? say("Duplicated.") : say("Saved."));
    await refresh();
  };

  byId("save").addEventListener(
    "click",
    guarded(() => save(false)),
  );
  byId("duplicate").addEventListener(
    "click",
    guarded(() => save(true)),
  );
  byId("download").addEventListener(
    "click",
    guarded(async () => {
      const name = titleOf(draft.case)
        .replace(/[^A-Za-z0-9]+/g, "-")
        .replace(/^-|-$/g, "")
        .toLowerCase();
      download(`${name || "case"}.toml`, await writeToml(draft.case), "application/toml");
      tell(say("Downloaded."));
    }),
  );
  const file = byId<HTMLInputElement>("open-file");
  byId("open").addEventListener("click", () => file.click());
  file.addEventListener(
    "change",
    guarded(async () => {
      const chosen = file.files?.[0];
      file.value = "";
      if (!chosen) return;
      take(await readToml(await chosen.text()), null, null);
      tell(say("Opened {name}.", { name: chosen.name }));
    }),
  );
  byId("new").addEventListener("click", () => {
    take(structuredClone(starter), null, null);
    tell(say("A new case to start from."));
  });
  list.addEventListener(
    "change",
    guarded(async () => {
      if (!list.value) return;
      const kept = await ask("get", "/api/cases/{id}", { path: { id: list.value } });
      take(await readToml(kept.toml), kept.id, kept.revision);
      tell(say("Opened {name}.", { name: kept.title }));
    }),
  );
  refresh().catch(() => mark());
  mark();
  return {
    changed() {
      draft.isSaved = false;
      keepDraft(draft);
      mark();
      tell("");
    },
  };
}
