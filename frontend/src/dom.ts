/** Makes elements without markup in strings, so that no text can become markup. */

export type Child = Node | string | null | undefined | false;
type Props = Record<string, string | number | boolean | null | undefined | ((event: Event) => void)>;

const SVG = "http://www.w3.org/2000/svg";

function fill<T extends Element>(node: T, props: Props, children: Child[]): T {
  for (const [name, value] of Object.entries(props)) {
    if (value === null || value === undefined || value === false) continue;
    if (typeof value === "function") node.addEventListener(name, value);
    else node.setAttribute(name, value === true ? "" : String(value));
  }
  for (const child of children) if (child) node.append(child);
  return node;
}

/** An element with attributes, listeners (functions) and children. */
export function el<K extends keyof HTMLElementTagNameMap>(
  tag: K,
  props: Props = {},
  ...children: Child[]
): HTMLElementTagNameMap[K] {
  return fill(document.createElement(tag), props, children);
}

/** The same for a drawing. */
export function svg<K extends keyof SVGElementTagNameMap>(
  tag: K,
  props: Props = {},
  ...children: Child[]
): SVGElementTagNameMap[K] {
  return fill(document.createElementNS(SVG, tag), props, children);
}

/** The page's element of that id; the template and the script must agree. */
export function byId<T extends Element = HTMLElement>(id: string): T {
  const found = document.getElementById(id);
  if (!found) throw new Error(`no element #${id}`);
  return found as unknown as T;
}

/** Content of a file, handed to the browser to keep. */
export function download(name: string, content: BlobPart, type = "text/plain"): void {
  const url = URL.createObjectURL(new Blob([content], { type }));
  const link = el("a", { href: url, download: name });
  document.body.append(link);
  link.click();
  link.remove();
  URL.revokeObjectURL(url);
}

let lastId = 0;

/** An id that nothing else on the page has. */
export function freshId(stem: string): string {
  lastId += 1;
  return `${stem}-${lastId}`;
}

/** Calls the last call only, once nothing more came for a while. */
export function debounced(wait: number, action: () => void): () => void {
  let timer = 0;
  return () => {
    clearTimeout(timer);
    timer = window.setTimeout(action, wait);
  };
}

/** An id that nobody else makes; also on a plain http page, where the browser offers less. */
export function randomId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}
