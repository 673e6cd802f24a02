/** Accounts, and the log of changes. */

import { Refused, get, reason, send, sentence } from "../api";
import { byId, el } from "../dom";
import { start } from "../shell";

interface Account {
  name: string;
  role: string;
  at: string;
}

interface Change {
  what: string;
  target: string;
  by: string;
  at: string;
}

start(async () => {
  byId<HTMLFormElement>("account").addEventListener("submit", (event) => {
    event.preventDefault();
    void set();
  });
  await refresh();
});

async function refresh(): Promise<void> {
  const { accounts } = await get<{ accounts: Account[] }>("/api/accounts");
  const { changes } = await get<{ changes: Change[] }>("/api/changes");
  byId("accounts").replaceChildren(
    ...accounts.map((each) => {
      const drop = el("button", { type: "button", class: "quiet" }, `Remove ${each.name}`);
      drop.addEventListener("click", () => {
        if (confirm(`Let ${each.name} sign in no more?`)) void act(() => send("DELETE", `/api/accounts/${encodeURIComponent(each.name)}`));
      });
      return el("tr", {}, el("th", { scope: "row" }, each.name), el("td", {}, each.role), el("td", {}, when(each.at)), el("td", {}, drop));
    }),
  );
  byId("changes").replaceChildren(...changes.map((each) => el("tr", {}, el("td", {}, when(each.at)), el("td", {}, each.by), el("td", {}, each.what), el("td", {}, each.target))));
}

function when(at: string): string {
  return new Date(at).toLocaleString();
}

async function set(): Promise<void> {
  const password = byId<HTMLInputElement>("password");
  const done = await act(() => send("PUT", "/api/accounts", { name: byId<HTMLInputElement>("name").value, role: byId<HTMLSelectElement>("role").value, password: password.value }));
  if (done) password.value = "";
}

async function act(action: () => Promise<unknown>): Promise<boolean> {
  const note = byId("account-note");
  try {
    await action();
    note.textContent = "Done.";
    note.className = "quiet-words";
    await refresh();
    return true;
  } catch (error) {
    note.textContent = error instanceof Refused ? error.problems.map((each) => `${each.field}: ${sentence(each)}`).join(" ") : reason(error);
    note.className = "error";
    return false;
  }
}
