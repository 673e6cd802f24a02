/** What is usual in a field stands beside it, before anybody is asked about it. */

import type { Section } from "./draft";
import { say } from "./words";

/** The sections, whose fields say what is usual in them. */
export function withUsual(sections: Section[]): Section[] {
  return sections.map((section) => ({
    ...section,
    fields: section.fields.map((field) => {
      const { doc, usual } = field;
      return usual ? { ...field, doc: say("{doc}; usual: {usual}", { doc, usual }) } : { ...field };
    }),
  }));
}
