/**
 * Files that are given to a page. One that is dropped is opened there: a browser would leave the page for
 * it. One that cannot be read, such as a folder or what was moved meanwhile, is told at its field.
 */

import { byId, el } from "./dom";
import { say } from "./words";

/** From now on, for every field of the page that asks for files. */
export function takeFiles(): void {
  takeDrops();
  const looked = new WeakSet<HTMLInputElement>();
  document.addEventListener(
    "change",
    (event) => {
      const input = event.target;
      if (!(input instanceof HTMLInputElement) || input.type !== "file" || looked.has(input)) return;
      // Whoever waits for them hears of files that can be read.
      event.stopImmediatePropagation();
      void unreadable([...(input.files ?? [])]).then((names) => {
        tellAt(input, names);
        if (names.length) {
          input.value = "";
          return;
        }
        looked.add(input);
        input.dispatchEvent(new Event("change", { bubbles: true }));
        looked.delete(input);
      });
    },
    true,
  );
}

async function unreadable(files: File[]): Promise<string[]> {
  const found = await Promise.all(
    files.map((each) =>
      each
        .slice(0, 1)
        .arrayBuffer()
        .then(
          () => [],
          () => [each.name],
        ),
    ),
  );
  return found.flat();
}

const lines = new WeakMap<HTMLInputElement, HTMLElement>();

function tellAt(input: HTMLInputElement, names: string[]): void {
  lines.get(input)?.remove();
  if (!names.length) return;
  const words = say("{names} cannot be read: it is a folder, or was moved or changed. Choose the file itself, anew.", {
    names: names.join(", "),
  });
  const line = el("p", { class: "error", role: "alert" }, words);
  lines.set(input, line);
  unfold(input);
  (input.closest("label") ?? input).after(line);
}

/** Takes what is dropped, wherever it falls. */
function takeDrops(): void {
  addEventListener("dragover", (event) => {
    if (holdsFiles(event)) event.preventDefault();
  });
  addEventListener("drop", (event) => {
    if (!holdsFiles(event)) return;
    const files = [...(event.dataTransfer?.files ?? [])];
    const on = event.target instanceof Element ? event.target : document.body;
    const input = askedFor(on, files[0]);
    // A field for files takes them by itself.
    if (input && input === on) return;
    event.preventDefault();
    if (!input || !files.length || byId("main").inert) return;
    const given = new DataTransfer();
    for (const each of input.multiple ? files : files.slice(0, 1)) given.items.add(each);
    unfold(input);
    input.files = given.files;
    input.dispatchEvent(new Event("change", { bubbles: true }));
  });
}

/** What is told of a file stands where its field is. */
function unfold(input: HTMLInputElement): void {
  for (let fold = input.closest("details"); fold; fold = fold.parentElement?.closest("details") ?? null)
    fold.open = true;
}

function holdsFiles(event: DragEvent): boolean {
  return event.dataTransfer?.types.includes("Files") ?? false;
}

/** The nearest field that asks for such a file; else the nearest for any, which says what it takes. */
function askedFor(on: Element, file: File | undefined): HTMLInputElement | null {
  const nearest = (fits: (input: HTMLInputElement) => boolean): HTMLInputElement | null => {
    for (let part: Element | null = on; part; part = part.parentElement) {
      const inputs = [...part.querySelectorAll<HTMLInputElement>('input[type="file"]:not(:disabled)')];
      if (part instanceof HTMLInputElement && part.type === "file") inputs.push(part);
      const found = inputs.find(fits);
      if (found) return found;
    }
    return null;
  };
  return nearest((each) => file !== undefined && accepts(each.accept, file)) ?? nearest(() => true);
}

/** Whether a file is one of those that a field asks for. */
export function accepts(accept: string, { name, type }: { name: string; type: string }): boolean {
  const kinds = accept
    .toLowerCase()
    .split(",")
    .map((each) => each.trim())
    .filter(Boolean);
  return kinds.some((each) =>
    each.startsWith(".")
      ? name.toLowerCase().endsWith(each)
      : each.endsWith("/*")
        ? type.startsWith(each.slice(0, -1))
        : type === each,
  );
}
