/** The case as a file: open, download, save on the server, duplicate, go back to what was saved. */

import { ask, Refused, reason } from "./api";
import { askFirst } from "./ask_first";
import { byId, download, el, randomId } from "./dom";
import type { Table } from "./draft";
import { readToml, titleOf, writeToml } from "./draft";
import type { InHand, Saved } from "./in_hand";
import { chosenRevision, revisionOf, settled } from "./saved_history";
import { say } from "./words";

export interface FileBar {
  /** The case in hand was changed. */
  changed(): void;
}

/** Wires the bar of buttons. */
export function fileBar(hand: InHand, starter: Table): FileBar {
  const note = byId("file-note");
  const list = byId<HTMLSelectElement>("saved-cases");
  const tell = (text: string): void => {
    note.textContent = text;
  };

  const mark = (): void => {
    byId("save-state").textContent =
      hand.id === null ? say("Only in this browser") : hand.isSaved ? say("Saved") : say("Changes not saved yet");
    byId("history").hidden = hand.id === null;
    list.value = hand.id ?? "";
  };
  const guarded = (action: () => Promise<void>) => (): void => {
    action().catch((error: unknown) => tell(reason(error)));
  };

  const refresh = async (): Promise<void> => {
    const { cases } = await ask("get", "/api/cases");
    list.replaceChildren(
      el("option", { value: "" }, cases.length ? say("Saved cases") : say("No saved cases yet")),
      ...cases.map((each) => el("option", { value: each.id }, each.title.trim() || say("Untitled case"))),
    );
    mark();
  };

  // One name for one new case until it is kept: an answer that was lost makes no second one.
  let fresh = randomId();
  /** What was last sent to be kept, until the answer came. */
  let sent: string | null = null;
  const save = async (): Promise<boolean> => {
    const [toml, title] = [await writeToml(hand.case), titleOf(hand.case)];
    const before = sent;
    sent = toml;
    try {
      const kept =
        hand.id === null
          ? await ask("post", "/api/cases", { body: { id: fresh, title, toml } })
          : await ask("put", "/api/cases/{id}", {
              path: { id: hand.id },
              body: { title, toml, revision: hand.revision ?? 1 },
            });
      hand.saved(kept.id, kept.revision);
      fresh = randomId();
      sent = null;
    } catch (error) {
      if (!(error instanceof Refused) || error.status !== 409) throw error;
      if (hand.id !== null) {
        // What was kept meanwhile is what was sent from here: its answer was lost.
        const kept = before === null ? null : await revisionKept(hand.id);
        if (!kept || kept.toml !== before) return settle(hand.id, hand.revision ?? 1);
        sent = null;
        hand.saved(kept.id, kept.revision);
        return save();
      }
      // Nobody else knows this name: it was kept before it was changed, and the answer was lost.
      hand.saved(fresh, (await revisionKept(fresh)).revision);
      return save();
    }
    tell(say("Saved."));
    await refresh();
    return true;
  };
  const duplicate = async (): Promise<void> => {
    const title = say("{title} (copy)", { title: titleOf(hand.case) }).slice(0, 200);
    hand.replace({ ...structuredClone(hand.case), title }, { id: null, revision: null, isSaved: false });
    if (await save()) tell(say("Duplicated."));
  };
  /** Somebody else saved the case, or took it away, after it was opened here. */
  const settle = async (id: string, revision: number): Promise<boolean> => {
    let kept: Awaited<ReturnType<typeof revisionKept>>;
    try {
      kept = await revisionKept(id);
    } catch (error) {
      if (!(error instanceof Refused) || error.status !== 404) throw error;
      hand.replace(structuredClone(hand.case), { id: null, revision: null, isSaved: false });
      tell(say("Somebody took this case away meanwhile. Yours is still here: Save keeps it as a new case."));
      return false;
    }
    const answer = await settled(await revisionOf(id, revision), hand.case, await readToml(kept.toml), kept.by);
    if (answer === null) {
      tell(say("Not saved yet: {who} saved this case meanwhile.", { who: kept.by }));
      return false;
    }
    if (answer.answer === "both") {
      await duplicate();
      return true;
    }
    hand.replace(answer.table, { id, revision: kept.revision, isSaved: false });
    return save();
  };

  /** Whether what is in hand may go: it is kept, or somebody said so. */
  const mayGo = async (): Promise<boolean> => {
    if (hand.isSaved) return true;
    const words = say("“{title}” has changes that are not saved.", { title: titleOf(hand.case) });
    const answer = await askFirst(
      say("Save it first?"),
      [el("p", {}, words)],
      [
        { code: "save", label: say("Save it"), isMain: true },
        { code: "go", label: say("Go on without saving; Undo brings it back") },
      ],
    );
    return answer === "go" || (answer === "save" && (await save()));
  };
  const take = async (bring: () => Promise<{ table: Table; saved: Saved; words: string }>): Promise<void> => {
    if (await mayGo()) {
      const { table, saved, words } = await bring();
      hand.replace(table, saved);
      tell(words);
    }
    mark();
  };

  const wire = (id: string, action: () => Promise<void>): void => byId(id).addEventListener("click", guarded(action));
  wire("save", async () => void (await save()));
  wire("duplicate", duplicate);
  wire("download", async () => {
    const name = titleOf(hand.case)
      .replace(/[^A-Za-z0-9]+/g, "-")
      .replace(/^-|-$/g, "")
      .toLowerCase();
    download(`${name || "case"}.toml`, await writeToml(hand.case), "application/toml");
    hand.downloaded();
    tell(say("Downloaded."));
  });
  wire("history", async () => {
    const { id, revision } = hand;
    if (id === null) return;
    const chosen = await chosenRevision(id);
    if (chosen === null || chosen === undefined) return;
    hand.replace(await revisionOf(id, chosen), { id, revision, isSaved: false });
    tell(say("This is revision {number} again. Save makes it the latest; Undo goes back.", { number: chosen }));
  });
  wire("new", () =>
    take(async () => ({
      table: structuredClone(starter),
      saved: { id: null, revision: null, isSaved: true },
      words: say("A new case to start from."),
    })),
  );
  const file = byId<HTMLInputElement>("open-file");
  byId("open").addEventListener("click", () => file.click());
  file.addEventListener(
    "change",
    guarded(async () => {
      const chosen = file.files?.[0];
      if (!chosen) return;
      const text = await chosen.text();
      file.value = "";
      const table = await readToml(text);
      await take(async () => ({
        table,
        saved: { id: null, revision: null, isSaved: true },
        words: say("Opened {name}.", { name: chosen.name }),
      }));
    }),
  );
  list.addEventListener(
    "change",
    guarded(async () => {
      const id = list.value;
      if (!id) return mark();
      await take(async () => {
        const kept = await revisionKept(id);
        const saved = { id: kept.id, revision: kept.revision, isSaved: true };
        return { table: await readToml(kept.toml), saved, words: say("Opened {name}.", { name: kept.title }) };
      });
    }),
  );
  hand.whenReplaced(mark);
  refresh().catch(() => mark());
  mark();
  return {
    changed() {
      hand.changed();
      mark();
      tell("");
    },
  };
}

function revisionKept(id: string) {
  return ask("get", "/api/cases/{id}", { path: { id } });
}
