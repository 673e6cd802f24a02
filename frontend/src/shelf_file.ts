/** A shelf's file whose things are put on the server's shelf, all or none. */

import { ask, problemsIn } from "./api";
import { byId } from "./dom";
import { problemsShown } from "./questions";

/** @param added is told what is new there. */
export function shelfFile(added: (told: string) => Promise<void>): void {
  const file = byId<HTMLInputElement>("shelf-file");
  const right = new Set<string>();
  let toml = "";
  const send = async (): Promise<void> => {
    byId("file-note").textContent = "";
    try {
      const { told } = await ask("post", "/api/shelf/file", { body: { toml, as_typed: [...right] } });
      byId("file-problems").replaceChildren();
      await added(told);
    } catch (error) {
      const confirm = (field: string): void => {
        right.add(field);
        void send();
      };
      byId("file-problems").replaceChildren(...problemsShown(problemsIn(error), confirm));
    }
  };
  byId("open-shelf").addEventListener("click", () => file.click());
  file.addEventListener("change", async () => {
    const chosen = file.files?.[0];
    if (!chosen) return;
    toml = await chosen.text();
    right.clear();
    file.value = "";
    await send();
  });
}
