/** Accounts, and the log of changes. */

import { ask, problemsIn, told } from "../api";
import { blocksShown, verdictShown } from "../blocks";
import { sayCode } from "../codes";
import { byId, el } from "../dom";
import type { Account, LoggedChange, NewAccount } from "../generated/api";
import { start } from "../shell";
import { wired } from "../wired";
import { say, when } from "../words";

const ROLES = ["view", "record", "manage"] as const;

start(main);

async function main(): Promise<void> {
  byId<HTMLFormElement>("account").addEventListener("submit", (event) => {
    event.preventDefault();
    void set();
  });
  byId("only").addEventListener("input", showChanges);
  byId("check-store").addEventListener("click", () => void checkStore());
  wired();
  await refresh();
  await showCopies();
}

let changes: LoggedChange[] = [];

/** The lines of the log that hold what was typed. */
function showChanges(): void {
  const only = byId<HTMLInputElement>("only").value.trim().toLowerCase();
  const lines = changes
    .map((each) => [when(each.at), each.by, sayCode(each.what), each.target])
    .filter((cells) => cells.some((text) => text.toLowerCase().includes(only)));
  byId("changes").replaceChildren(
    ...lines.map((cells) => el("tr", {}, ...cells.map((text) => el("td", { class: "words" }, text)))),
  );
  byId("only-note").textContent = only
    ? say("{count} of {all} lines", { count: lines.length, all: changes.length })
    : "";
}

async function showCopies(): Promise<void> {
  const found = await ask("get", "/api/store");
  const line = byId("copies");
  line.className = found.are_made && !found.failure && found.last ? "quiet-words" : "caution";
  if (!found.are_made)
    line.textContent = say(
      "No copy of the store is made by this server. Start it with --backup FOLDER, on another disk.",
    );
  else if (found.failure)
    line.textContent = say("No copy can be made: {why}. It is tried again every minute.", { why: found.failure });
  else if (found.last)
    line.textContent = say("A copy is made every night; the latest {when}.", { when: when(found.last) });
  else line.textContent = say("A copy is made every night; none was made yet.");
}

async function checkStore(): Promise<void> {
  const state = byId("store-state");
  state.className = "quiet-words";
  state.textContent = say("Looking at every row and picture …");
  try {
    const found = await ask("post", "/api/store/check", {});
    state.textContent = "";
    byId("store-answer").replaceChildren(
      verdictShown(found.is_sound ? say("The store is sound.") : say("The store is not sound."), found.is_sound),
      ...found.wrong.map((each) => el("p", { class: "error" }, each)),
      ...blocksShown(found.blocks),
    );
  } catch (error) {
    state.className = "error";
    state.textContent = problemsIn(error).map(told).join(" ");
  }
}

async function refresh(): Promise<void> {
  const { accounts } = await ask("get", "/api/accounts");
  changes = (await ask("get", "/api/changes", { query: { most: 1000 } })).changes;
  const nobody = say("Nobody yet: set an account for each who may sign in.");
  byId("accounts").replaceChildren(
    ...(accounts.length ? accounts.map(line) : [el("tr", {}, el("td", { colspan: 4, class: "words" }, nobody))]),
  );
  showChanges();
}

function line({ name, role, at }: Account): HTMLElement {
  const drop = el("button", { type: "button", class: "quiet" }, say("Remove {name}", { name }));
  drop.addEventListener("click", () => {
    if (confirm(say("Let {name} sign in no more?", { name })))
      void act(() => ask("delete", "/api/accounts/{name}", { path: { name } }));
  });
  const choice = el(
    "select",
    { "aria-label": say("role of {name}", { name }) },
    ...ROLES.map((each) => el("option", { value: each, selected: each === role }, sayCode(each))),
  );
  choice.addEventListener("change", () => {
    const body = { role: choice.value };
    void act(() => ask("put", "/api/accounts/{name}/role", { path: { name }, body })).then((isDone) => {
      if (!isDone) choice.value = role;
    });
  });
  return el(
    "tr",
    {},
    el("th", { scope: "row" }, name),
    el("td", {}, choice),
    el("td", {}, when(at)),
    el("td", {}, drop),
  );
}

async function set(): Promise<void> {
  const password = byId<HTMLInputElement>("password");
  const body: NewAccount = {
    name: byId<HTMLInputElement>("name").value,
    role: byId<HTMLSelectElement>("role").value as NewAccount["role"],
    password: password.value,
  };
  if (await act(() => ask("put", "/api/accounts", { body }))) password.value = "";
}

async function act(action: () => Promise<unknown>): Promise<boolean> {
  const note = byId("account-note");
  try {
    await action();
    note.textContent = say("Done.");
    note.className = "quiet-words";
    await refresh();
    return true;
  } catch (error) {
    note.textContent = problemsIn(error).map(told).join(" ");
    note.className = "error";
    return false;
  }
}
