"""What a notebook shows of studies that stand in several results."""

from __future__ import annotations

from woold.library.studies import PooledSites, WatchedLoads
from woold.rows.blocks import Block
from woold.rows.wording import Wording
from woold.sites.rows import sites_blocks
from woold.watch.rows import watch_blocks

__all__ = ["pooled_blocks", "watched_blocks"]


def pooled_blocks(pooled: PooledSites, say: Wording) -> tuple[Block, ...]:
    """What many trials say together.

    Args:
        pooled: the study.
        say: words and numbers.
    """
    return sites_blocks(pooled.analysis, say)


def watched_blocks(watched: WatchedLoads, say: Wording) -> tuple[Block, ...]:
    """What cycle records say of each machine.

    Args:
        watched: the study.
        say: words and numbers.
    """
    return tuple(watch_blocks(watched.machines, watched.settings, watched.findings, say))
