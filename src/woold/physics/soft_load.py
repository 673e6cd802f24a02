"""A load that gives way: every new layer presses it in and slackens the layers below."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from woold.physics.numeric import FloatOrArray, refuse_unless
from woold.words import say

__all__ = [
    "first_layer_force",
    "layers_for_force",
    "soft_load_force",
    "soft_load_share",
    "stiffness_of_layer",
]

Array = npt.NDArray[np.float64]

_MOST_LAYERS = 400
_SOFTEST = 1e3  # stiffness of a layer over that of the load: more is no load


def stiffness_of_layer(
    reload_modulus: FloatOrArray, thickness: FloatOrArray, film_width: FloatOrArray
) -> FloatOrArray:
    """Force that one layer of film loses per unit of hoop strain.

    K_1 = E_r t w

    Args:
        reload_modulus: modulus of the stretched film on its stretched section [Pa].
        thickness: film thickness on the load [m].
        film_width: film width on the load [m].

    Returns:
        Stiffness [N].
    """
    return reload_modulus * thickness * film_width


def soft_load_force(
    layers: FloatOrArray,
    film_force: FloatOrArray,
    layer_stiffness: FloatOrArray,
    load_stiffness: FloatOrArray,
) -> FloatOrArray:
    """Containment force of layers that press the load in as they come.

    C_n = C_(n-1) + T/(1 + n K_1/k): the load's hoop shrinks until it carries the new layer, and
    all layers, the new one too, slacken by that strain. A part of a layer adds its part.

    Args:
        layers: layers over one another, n [-].
        film_force: tension T of each as it is laid [N].
        layer_stiffness: force that one layer loses per unit of hoop strain, K_1 [N].
        load_stiffness: hoop force of the load per unit of hoop strain at that height, k; infinity
            for a rigid load [N].

    Returns:
        Containment force [N].

    Raises:
        InputError: layers outside 0 to 400, a load stiffness not above 0.

    Source:
        Equilibrium of linear springs, small strains. Against springs of finite length, each
        stretched by T/K_1 when laid, it is high by up to about half of that strain (2.8 % for a
        film stretched by 5 %). A layer that falls slack is counted as pushing: the low side.
    """
    refuse_unless(
        np.greater_equal(layers, 0) & np.less_equal(layers, _MOST_LAYERS),
        "layers",
        layers,
        say("0 to 400"),
    )
    refuse_unless(
        np.greater(load_stiffness, 0), "load_stiffness", load_stiffness, say("a number above 0")
    )
    give = np.divide(layer_stiffness, load_stiffness)
    force = np.zeros(np.broadcast_shapes(*map(np.shape, (layers, film_force, give))))
    for number in range(1, math.ceil(np.max(layers)) + 1):
        part = np.clip(np.subtract(layers, number - 1), 0.0, 1.0)
        force = force + part * film_force / (1.0 + number * give)
    return force[()]


def soft_load_share(
    layers: FloatOrArray, layer_stiffness: FloatOrArray, load_stiffness: FloatOrArray
) -> FloatOrArray:
    """Part of a rigid load's containment force that a soft load's layers hold.

    C_n/(n T), see :func:`soft_load_force`; 1 without layers and on a rigid load

    Args:
        layers: layers over one another, n [-].
        layer_stiffness: force that one layer loses per unit of hoop strain, K_1 [N].
        load_stiffness: hoop force of the load per unit of hoop strain; infinity for rigid [N].

    Returns:
        Share [-].
    """
    if np.all(np.isinf(load_stiffness)):
        return np.ones(np.broadcast_shapes(np.shape(layers), np.shape(layer_stiffness)))[()]
    some = np.maximum(layers, 1e-9)  # the first part of a layer has the first layer's share
    return soft_load_force(some, 1.0, layer_stiffness, load_stiffness) / some


def layers_for_force(
    force: float, film_force: float, layer_stiffness: float, load_stiffness: float
) -> float:
    """Layers that hold a containment force on a load that gives way.

    n with C_n = C, see :func:`soft_load_force`; C/T on a rigid load

    Args:
        force: containment force C [N].
        film_force: tension T of each layer as it is laid [N].
        layer_stiffness: force that one layer loses per unit of hoop strain, K_1 [N].
        load_stiffness: hoop force of the load per unit of hoop strain; infinity for rigid [N].

    Returns:
        Layers, not rounded [-]; infinite where 400 do not hold it.
    """
    if film_force <= 0.0:
        return math.inf
    if math.isinf(load_stiffness):
        return force / film_force
    give, held = layer_stiffness / load_stiffness, 0.0
    for number in range(1, _MOST_LAYERS + 1):
        more = film_force / (1.0 + number * give)
        if held + more >= force:
            return number - 1 + (force - held) / more
        held += more
    return math.inf


def first_layer_force(
    layers: FloatOrArray,
    film_force: FloatOrArray,
    layer_stiffness: FloatOrArray,
    load_stiffness: FloatOrArray,
) -> FloatOrArray:
    """Tension that is left in the first layer, the one that slackens most.

    T - K_1 C_n/k; 0 or less: it is slack, and the load is too soft for these layers

    Args:
        layers: layers over one another, n [-].
        film_force: tension T of each as it is laid [N].
        layer_stiffness: force that one layer loses per unit of hoop strain, K_1 [N].
        load_stiffness: hoop force of the load per unit of hoop strain; infinity for rigid [N].

    Returns:
        Tension [N].
    """
    held = soft_load_force(layers, film_force, layer_stiffness, load_stiffness)
    return film_force - np.multiply(layer_stiffness, held) / load_stiffness
