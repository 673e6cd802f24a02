/** Accounts, and the log of changes. */

import { ask, problemsIn, told } from "../api";
import { sayCode } from "../codes";
import { byId, el } from "../dom";
import type { Account, NewAccount } from "../generated/api";
import { start } from "../shell";
import { say, when } from "../words";

const ROLES = ["view", "record", "manage"] as const;

start(async () => {
  byId<HTMLFormElement>("account").addEventListener("submit", (event) => {
    event.preventDefault();
    void set();
  });
  await refresh();
});

async function refresh(): Promise<void> {
  const { accounts } = await ask("get", "/api/accounts");
  const { changes } = await ask("get", "/api/changes");
  byId("accounts").replaceChildren(...accounts.map(line));
  byId("changes").replaceChildren(
    ...changes.map((each) =>
      el(
        "tr",
        {},
        el("td", {}, when(each.at)),
        el("td", {}, each.by),
        el("td", {}, sayCode(each.what)),
        el("td", {}, each.target),
      ),
    ),
  );
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
