/** One's own account: password, and where one is signed in. */

import { ask, problemsIn, sentence } from "../api";
import { sayCode } from "../codes";
import { byId, el } from "../dom";
import type { Session } from "../generated/api";
import { start } from "../shell";
import { say, when } from "../words";

start(async () => {
  const me = await ask("get", "/api/me");
  byId("who-am-i").textContent = say("{name}, role: {role}", { name: me.name, role: sayCode(me.role) });
  if (!me.signs_in) {
    byId("who-am-i").textContent = say("Nobody signs in on this server, so there is no account of your own to keep.");
    for (const id of ["password-pane", "sessions-pane"]) byId(id).hidden = true;
    return;
  }
  byId<HTMLFormElement>("password-form").addEventListener("submit", (event) => {
    event.preventDefault();
    void changePassword();
  });
  byId("end-others").addEventListener(
    "click",
    () => void act("sessions-note", () => ask("delete", "/api/me/sessions")),
  );
  await refresh();
});

async function refresh(): Promise<void> {
  const { sessions } = await ask("get", "/api/me/sessions");
  byId("sessions").replaceChildren(...sessions.map(line));
  byId("end-others").hidden = sessions.length < 2;
}

function line({ id, device, begun, ends, is_own }: Session): HTMLElement {
  const end = el("button", { type: "button", class: "quiet" }, say("Sign out"));
  end.addEventListener(
    "click",
    () => void act("sessions-note", () => ask("delete", "/api/me/sessions/{id}", { path: { id } })),
  );
  return el(
    "tr",
    {},
    el("th", { scope: "row" }, device || say("unknown browser")),
    el("td", {}, begun && when(begun)),
    el("td", {}, when(ends)),
    el("td", {}, is_own ? say("this one") : end),
  );
}

async function changePassword(): Promise<void> {
  const [old, fresh, again] = ["old", "new", "again"].map((id) => byId<HTMLInputElement>(id));
  if (!old || !fresh || !again) return;
  if (fresh.value !== again.value) {
    tell("password-note", say("The two new ones differ."), true);
    return;
  }
  const body = { old: old.value, new: fresh.value };
  if (await act("password-note", () => ask("put", "/api/me/password", { body })))
    for (const each of [old, fresh, again]) each.value = "";
}

function tell(place: string, words: string, isBad = false): void {
  const note = byId(place);
  note.textContent = words;
  note.className = isBad ? "error" : "quiet-words";
}

async function act(place: string, action: () => Promise<unknown>): Promise<boolean> {
  try {
    await action();
    tell(place, say("Done."));
    await refresh();
    return true;
  } catch (error) {
    tell(place, problemsIn(error).map(sentence).join(" "), true);
    return false;
  }
}
