/** Keys that every page has, and the list of them on "?". */

import { el } from "./dom";
import { keepInMind, remembered } from "./remembered";
import { onceWired } from "./wired";
import { say } from "./words";

const QUESTION_MARK = "woold.keys";

interface Key {
  keys: string;
  words: string;
  /** Element that the key leads to or presses; without it the key is told of where another part has it. */
  at?: string;
  letter?: string;
}

/** What can be reached by a key on this page. */
function keysHere(): Key[] {
  const all: Key[] = [
    { keys: "Alt+Shift+A", letter: "a", at: "[data-answer]", words: say("to the answer") },
    { keys: "Alt+Shift+I", letter: "i", at: "[data-inputs]", words: say("to the inputs") },
    { keys: "Alt+Shift+R", letter: "r", at: "[data-run]", words: say("search, judge or calculate") },
    { keys: "Alt+Shift+N", letter: "n", at: "nav.pages a, nav.parts-of-work a", words: say("to the other pages") },
    { keys: "Ctrl+Z", at: "#undo", words: say("undo") },
    { keys: "Ctrl+Y", at: "#redo", words: say("redo") },
  ];
  const here = all.filter((each) => each.at && document.querySelector(each.at));
  return [
    ...here,
    { keys: "Tab", words: say("to the next field or button") },
    { keys: "Esc", words: say("closes what has opened") },
    { keys: "?", words: say("this list") },
  ];
}

/** Wires the keys; each is told in the list that "?" shows, and as `aria-keyshortcuts`. */
export function wireKeys(): void {
  const button = document.getElementById("keys-button");
  if (button) {
    button.hidden = false;
    button.addEventListener("click", showKeys);
  }
  document.addEventListener("keydown", (event) => {
    if (event.key === "?" && !isTyping(event.target) && remembered(QUESTION_MARK) !== "off") {
      event.preventDefault();
      showKeys();
      return;
    }
    if (!event.altKey || !event.shiftKey || event.ctrlKey || event.metaKey) return;
    // The letter on the key: with Alt some keyboards write another.
    const key = keysHere().find((each) => each.letter && event.code === `Key${each.letter.toUpperCase()}`);
    const target = key?.at ? document.querySelector<HTMLElement>(key.at) : null;
    if (!target) return;
    event.preventDefault();
    onceWired(() => go(target));
  });
}

function go(target: HTMLElement): void {
  if (target instanceof HTMLButtonElement) {
    target.focus();
    target.click();
    return;
  }
  const isNatural = target.matches("a, input, select, textarea, summary");
  const fields =
    isNatural || target.matches("[data-answer]") ? [] : [...target.querySelectorAll<HTMLElement>("input, select")];
  const first = fields.find((each) => each.checkVisibility());
  const there = first ?? target;
  if (!first && !isNatural && !target.hasAttribute("tabindex")) target.setAttribute("tabindex", "-1");
  there.focus();
  there.scrollIntoView({ block: "nearest" });
}

function isTyping(target: EventTarget | null): boolean {
  return (
    target instanceof HTMLTextAreaElement ||
    target instanceof HTMLSelectElement ||
    (target instanceof HTMLInputElement && !["checkbox", "radio", "range", "button", "file"].includes(target.type))
  );
}

function showKeys(): void {
  if (document.querySelector("dialog.keys-list")) return;
  const isOn = el("input", { type: "checkbox", id: "question-mark" });
  isOn.checked = remembered(QUESTION_MARK) !== "off";
  isOn.addEventListener("change", () => keepInMind(QUESTION_MARK, isOn.checked ? "on" : "off"));
  const rows = keysHere().flatMap(({ keys, words }) => [el("dt", {}, el("kbd", {}, keys)), el("dd", {}, words)]);
  const dialog = el(
    "dialog",
    { class: "asked keys-list", "aria-labelledby": "keys-name" },
    el("h2", { id: "keys-name" }, say("Keys on this page")),
    el("dl", { class: "keys" }, ...rows),
    el("p", {}, el("label", { class: "check" }, isOn, say("“?” opens this list"))),
    el("form", { method: "dialog" }, el("button", { type: "submit", class: "main", autofocus: true }, say("Close"))),
  );
  dialog.addEventListener("close", () => dialog.remove());
  document.body.append(dialog);
  dialog.showModal();
}
