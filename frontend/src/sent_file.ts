/** A file as it is sent inside of a document. */

import type { SentFile } from "./generated/api";

export async function sentFile(file: File): Promise<SentFile> {
  return { name: file.name, content: base64(new Uint8Array(await file.arrayBuffer())) };
}

const PIECE = 0x8000;

function base64(bytes: Uint8Array): string {
  let letters = "";
  for (let at = 0; at < bytes.length; at += PIECE) letters += String.fromCharCode(...bytes.subarray(at, at + PIECE));
  return btoa(letters);
}

/** Calls with the files that somebody chose, also those that were chosen before the script was there. */
export function whenChosen(input: HTMLInputElement, take: (files: File[]) => void): void {
  const chosen = (): void => {
    const files = [...(input.files ?? [])];
    // The same file can be chosen again once it is mended.
    input.value = "";
    if (files.length) take(files);
  };
  input.addEventListener("change", chosen);
  chosen();
}
