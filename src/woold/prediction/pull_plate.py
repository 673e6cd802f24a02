"""The reading to expect of a pull plate in the middle of the load's longest face."""

from __future__ import annotations

import numpy as np

from woold.case.hold import Hold
from woold.case.load import Load
from woold.case.model import Case
from woold.physics import hold, outlines, soft_load
from woold.physics.numeric import FloatOrArray
from woold.physics.outlines import Outline
from woold.prediction.film_roll import NO_DRAWS, Draws, modulus_as_laid

__all__ = ["longest_face", "pull_height", "pull_plate_reading"]


def longest_face(outline: Outline) -> float | None:
    """Length of the longest flat face [m]; a round load has none that a plate could be pulled off.

    Args:
        outline: of the load.
    """
    if outline.corner_radius:
        return None
    return float(np.hypot(*outlines.side_vectors(outline.vertices).T).max())


def pull_height(load: Load, ask: Hold) -> float:
    """Height of the plate over the deck [m]: half way up where nobody says.

    Args:
        load, ask: tables of a case.
    """
    return 0.5 * load.height if ask.pull_height is None else ask.pull_height


def pull_plate_reading(
    case: Case,
    film: tuple[FloatOrArray, FloatOrArray],
    layers: FloatOrArray,
    face: FloatOrArray,
    draws: Draws = NO_DRAWS,
) -> FloatOrArray:
    """Reading to expect in the middle of a face [N], of one case or of many draws of it.

    Args:
        case: says the film's force and modulus, how stiff the load is, and how the plate is pulled.
        film: its width and thickness on the load [m].
        layers: mean number of them at the plate's height.
        face: length of the face [m].
        draws: values that replace the case's.
    """
    width, thickness = film
    modulus = modulus_as_laid(case.film, draws)
    stiffness = soft_load.stiffness_of_layer(modulus, thickness, width)
    soft = np.inf if case.load.hoop_stiffness is None else case.load.hoop_stiffness
    share = soft_load.soft_load_share(layers, stiffness, draws.get("load.hoop_stiffness", soft))
    force = draws.get("program.force_to_load", case.program.force_to_load)
    return hold.pull_plate_reading(
        hoop=force / width * layers * share,
        membrane_stiffness=modulus * thickness * layers,
        plate_width=case.hold.pull_plate_width,
        pull=case.hold.pull_distance,
        near_corner=0.5 * face,
        far_corner=0.5 * face,
    )
