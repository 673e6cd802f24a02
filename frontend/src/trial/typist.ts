/** Who types on this phone: one of the names that it knows, changed in two taps. */

import { el, freshId } from "../dom";
import { keepInMind, remembered, rememberedValue } from "../remembered";
import { say } from "../words";

const NOW = "woold.typist";
const NAMES = "woold.typists";
const MOST = 12;
const LONGEST = 64;

/** Who types now; "" where nobody said. */
export function typist(): string {
  return remembered(NOW) ?? "";
}

/** Says who types from now on. */
export function setTypist(name: string): void {
  const tidy = name.trim().slice(0, LONGEST);
  keepInMind(NOW, tidy);
  if (!tidy) return;
  const names = [tidy, ...rememberedValue<string[]>(NAMES, []).filter((each) => each !== tidy)];
  keepInMind(NAMES, JSON.stringify(names.slice(0, MOST)));
}

/** Shows who types, and lets somebody else take over; `changed` is told the new name. */
export function typistChoice(changed: (name: string) => void): HTMLElement {
  const fold = el("details", { class: "typist" });
  const draw = (): void => {
    const now = typist();
    const take = (name: string): void => {
      setTypist(name);
      fold.open = false;
      draw();
      changed(typist());
    };
    const others = rememberedValue<string[]>(NAMES, []).filter((each) => each !== now);
    const input = el("input", { type: "text", id: freshId("typist"), maxlength: LONGEST, autocomplete: "off" });
    const use = (): void => {
      if (input.value.trim()) take(input.value);
      else input.focus();
    };
    input.addEventListener("keydown", (event) => {
      if (event.key !== "Enter") return;
      event.preventDefault();
      use();
    });
    fold.replaceChildren(
      el("summary", {}, now ? say("Typed by {name}: change", { name: now }) : say("Who types? Tap to say")),
      ...others.map((name) => el("button", { type: "button", click: () => take(name) }, name)),
      el("label", { for: input.id }, say("another name")),
      input,
      el("button", { type: "button", click: use }, say("Use this name")),
    );
  };
  draw();
  return fold;
}
