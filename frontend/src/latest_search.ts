/** The search of this tab that found something last: its report is made on another page. */

export const LATEST_SEARCH = "woold.search";
