/** Codes of answers in words, where a drawing, a choice or a log shows them. */

import { say, toSay } from "./words";

const CODES = [
  toSay("view"),
  toSay("record"),
  toSay("manage"),
  toSay("signed in"),
  toSay("sign-in refused"),
  toSay("account set: view"),
  toSay("account set: record"),
  toSay("account set: manage"),
  toSay("account removed"),
  toSay("case removed"),
  toSay("role set: view"),
  toSay("role set: record"),
  toSay("role set: manage"),
  toSay("password changed"),
  toSay("password change refused"),
  toSay("trial started"),
  toSay("trial changed"),
  toSay("record corrected"),
  toSay("record taken out"),
  toSay("file taken in"),
];
const KNOWN: ReadonlySet<string> = new Set(CODES);

/** A code in words; what is none, as it is. */
export function sayCode(code: string): string {
  const saved = /^case saved: revision (\d+)$/.exec(code);
  if (saved) return say("case saved: revision {revision}", { revision: saved[1] ?? "" });
  return KNOWN.has(code) ? say(code) : code;
}
