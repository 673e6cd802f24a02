"""Reports: one frozen model of blocks, rendered to a page (HTML) and to paper (PDF)."""
