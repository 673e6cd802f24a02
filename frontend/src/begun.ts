/** Whether somebody has begun here: words for newcomers are not shown again then. */

/** Kept as a cookie, so that the server leaves them out and nothing moves. */
export function keepBegun(): void {
  // biome-ignore lint/suspicious/noDocumentCookie: the server reads it before any script runs.
  document.cookie = "woold_begun=1; path=/; max-age=31536000; samesite=lax";
}
