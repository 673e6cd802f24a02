"""The pages in the order of the work, for the navigation: groups, and the pages of each."""

from __future__ import annotations

from dataclasses import dataclass

from woold.words import to_say

__all__ = ["NAVIGATION", "NavGroup", "NavPage", "group_of"]


@dataclass(frozen=True, slots=True)
class NavPage:
    """A page that the navigation leads to.

    Args:
        name: its template.
        path: its address.
        label: what it is called.
        also: templates of pages that belong to it and have no entry of their own.
    """

    name: str
    path: str
    label: str
    also: tuple[str, ...] = ()

    def holds(self, name: str) -> bool:
        """Whether a template is this page or belongs to it."""
        return name == self.name or name in self.also


@dataclass(frozen=True, slots=True)
class NavGroup:
    """Pages of one part of the work; the first of them is where the group leads to."""

    label: str
    pages: tuple[NavPage, ...]


_OF_A_TRIAL = ("trial", "trial_form", "trial_report")

NAVIGATION = (
    NavGroup(to_say("Start"), (NavPage("start", "/start", to_say("Start with my load")),)),
    NavGroup(
        to_say("One load"),
        (
            NavPage("bench", "/", to_say("Bench")),
            NavPage("design", "/design", to_say("Design")),
            NavPage("reports", "/reports", to_say("Reports")),
        ),
    ),
    NavGroup(
        to_say("Film carriage"),
        (
            NavPage("carriage", "/carriage", to_say("Carriage")),
            NavPage("dancer", "/dancer", to_say("Dancer")),
        ),
    ),
    NavGroup(
        to_say("Shelf"),
        (
            NavPage("shelf", "/shelf", to_say("What is kept")),
            NavPage("films", "/films", to_say("Films: which suits, and tests")),
        ),
    ),
    NavGroup(
        to_say("The line"),
        (
            NavPage("line", "/line", to_say("Every machine and film")),
            NavPage("release", "/line-release", to_say("Which machines first")),
        ),
    ),
    NavGroup(
        to_say("Trials"),
        (
            NavPage(
                "trials", "/trials", to_say("All trials"), ("trial", "trial_form", "trial_report")
            ),
            NavPage("trial_plan", "/trial-plan", to_say("Plan a trial")),
            NavPage("learning", "/learning", to_say("What trials teach")),
        ),
    ),
    NavGroup(
        to_say("Does it last"),
        (
            NavPage("sites", "/sites", to_say("Many sites")),
            NavPage("quote", "/quote", to_say("Quote from five facts")),
            NavPage("watch", "/watch", to_say("Watch")),
        ),
    ),
)
"""Groups by the order of the work. A new page is added to its group here, and nowhere else."""


def group_of(name: str | None) -> NavGroup | None:
    """The group that a page stands in; None for a page outside of the navigation."""
    for group in NAVIGATION:
        if name and any(each.holds(name) for each in group.pages):
            return group
    return None
