"""Pictures for people: matplotlib figures, readable in grey, every axis with its unit."""
