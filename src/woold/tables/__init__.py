"""Tables that other programs wrote: text of any usual kind, workbooks, Parquet."""
