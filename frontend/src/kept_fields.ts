/** Half-filled forms beside the case: what was typed is there again after a reload of the tab. */

import { keepInMind, remembered, rememberedValue } from "./remembered";

type Control = HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement;
type Kept = Record<string, string | boolean>;

const TICKED = new Set(["checkbox", "radio"]);
/** A browser gives no file back, and a password is nobody else's. */
const NEVER = new Set(["file", "password", "range", "submit", "button"]);

export class KeptFields {
  private readonly key: string;

  /** @param host holds the fields; those with an id or a value of their own are kept. */
  constructor(private readonly host: HTMLElement) {
    this.key = keyOf(host);
    host.addEventListener("input", () => this.keep());
    this.restore();
  }

  /** Puts back what was typed, where its field is there by now. */
  restore(): void {
    const kept = rememberedValue<Kept>(this.key, {}, "sessionStorage");
    const all = this.controls();
    // A value beside the choice of something else would be worse than none.
    if (all.some((each) => !isOffered(each, kept[nameOf(each)]))) return;
    for (const each of all) {
      const value = kept[nameOf(each)];
      if (typeof value === "boolean") (each as HTMLInputElement).checked = value;
      else if (typeof value === "string") each.value = value;
    }
  }

  /** Keeps what stands in the fields now, such as after they were emptied. */
  keep(): void {
    const kept: Kept = {};
    for (const each of this.controls())
      kept[nameOf(each)] = TICKED.has(each.type) ? (each as HTMLInputElement).checked : each.value;
    keepInMind(this.key, JSON.stringify(kept), "sessionStorage");
  }

  private controls(): Control[] {
    const all = [...this.host.querySelectorAll<Control>("input, select, textarea")];
    return all.filter((each) => nameOf(each) && !NEVER.has(each.type));
  }
}

function keyOf(host: HTMLElement): string {
  return `woold.typed.${location.pathname}#${host.id}`;
}

/** Whether something was typed there in this tab before. */
export function wasTyped(host: HTMLElement): boolean {
  return remembered(keyOf(host), "sessionStorage") !== null;
}

function nameOf(control: Control): string {
  return control.id || (control.name && `${control.name}=${control.value}`);
}

function isOffered(control: Control, value: string | boolean | undefined): boolean {
  if (value === undefined || !(control instanceof HTMLSelectElement)) return true;
  return [...control.options].some((each) => each.value === value);
}

/** Every part of the page that asks for it. */
export function keepTyped(): void {
  for (const each of document.querySelectorAll<HTMLElement>("[data-kept]")) new KeptFields(each);
}
