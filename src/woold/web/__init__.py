"""The workbench in the browser."""
