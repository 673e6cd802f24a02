"""What the machine's own panel calls a setting, for the operator's sheet."""

from __future__ import annotations

from typing import Literal

from woold.case.fields import Section, plain

__all__ = ["PanelSetting", "SettingName"]

SettingName = Literal[
    "pre-stretch",
    "force to load",
    "turning speed",
    "start height",
    "bottom wraps",
    "rise per turn",
    "carriage speed up",
    "top overlap",
    "top wraps",
    "fall per turn",
    "carriage speed down",
    "closing wraps",
]


class PanelSetting(Section):
    """One setting as the machine's panel says it."""

    setting: SettingName = plain("which setting", example='"force to load"')
    label: str = plain("what the panel calls it", example='"dial F"', min_length=1, max_length=60)
    reading: str = plain("what the panel shows for it, if not the value", "", max_length=40)
