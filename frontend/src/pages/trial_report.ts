/** The report of a trial as a page. */

import { address, ask } from "../api";
import { byId } from "../dom";
import { loadFields } from "../draft";
import { showReport } from "../report_page";
import { start } from "../shell";
import { wired } from "../wired";

const key = decodeURIComponent(location.pathname.split("/")[2] ?? "");

start(async () => {
  byId<HTMLAnchorElement>("to-trial").href = `/trials/${encodeURIComponent(key)}`;
  wired();
  // So that fields of the cases are called as forms call them.
  await loadFields();
  const shown = await showReport(() => ask("get", "/api/trials/{key}/report", { path: { key } }));
  // What is taken away is what is shown.
  for (const kind of ["pdf", "html"])
    byId<HTMLAnchorElement>(kind).href = address(
      "/api/trials/{key}/report/{kind}",
      { key, kind },
      { at: shown?.made_at },
    );
});
