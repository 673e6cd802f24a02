/** Cautions are said once on a page, where its first answer stands: what other places would add is added there. */

import { byId, el } from "./dom";

const ADDED = "added";

/** From now on, whatever comes and goes. */
export function careOnce(): void {
  const watched = { childList: true, subtree: true, attributes: true, attributeFilter: ["hidden"] };
  new MutationObserver(gather).observe(byId("main"), watched);
  gather();
}

function gather(): void {
  const all = [...byId("main").querySelectorAll<HTMLDetailsElement>("details.care")].filter(
    (each) => !each.parentElement?.closest("[hidden]"),
  );
  // A page's own stand at its foot: those of an answer are nearer to it.
  const first = all.find((each) => !("own" in each.dataset)) ?? all[0];
  const list = first?.querySelector("ul");
  if (!first || !list) return;
  const others = all.filter((each) => each !== first);
  const own = new Set(textsOf(first));
  const more = [...new Set(others.flatMap(textsOf))].filter((text) => !own.has(text));
  const shown = [...list.querySelectorAll("li")].filter((each) => ADDED in each.dataset);
  if (more.join("\n") !== shown.map((each) => each.textContent).join("\n")) {
    for (const each of shown) each.remove();
    list.append(...more.map((text) => el("li", { [`data-${ADDED}`]: "" }, text)));
  }
  if (others.some((each) => each.open && !each.hidden)) first.open = true;
  for (const each of all) if (each.hidden !== (each !== first)) each.hidden = each !== first;
}

/** What stands in it of its own. */
function textsOf(care: HTMLElement): string[] {
  return [...care.querySelectorAll("li")].filter((each) => !(ADDED in each.dataset)).map((each) => each.textContent);
}
