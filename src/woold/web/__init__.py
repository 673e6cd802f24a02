"""The workbench in the browser, and the phone at the machine: a server for one plant."""
