"""woold: a workbench for people who wrap pallet loads in stretch film."""

__version__ = "0.1.0"
