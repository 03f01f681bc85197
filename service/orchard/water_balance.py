"""Root-zone depletion, day by day: 0 is a soil at field capacity, TAW one at wilting point.

FAO-56 below is Allen, Pereira, Raes, Smith 1998, Crop evapotranspiration, FAO Irrigation and Drainage Paper 56. Order
of a day: water first, then stress and evapotranspiration (its Example 38, not its eq. 88).
"""

from service.orchard.namespace import Array, Namespace


def total_available_water(mm_per_m: Array, root_depth_m: Array) -> Array:
    """Water that the root zone holds between field capacity and wilting point, TAW [mm], shape [blocks].

    mm_per_m: the same per metre of soil, 1000 (field capacity - wilting point); root_depth_m: Zr [m]
    Source: FAO-56 eq. 82, p. 162
    """
    return mm_per_m * root_depth_m


def readily_available_water(p: Array, taw: Array) -> Array:
    """The part of TAW that is used without stress, RAW [mm], shape [blocks].

    p: the part, 0 to 1
    Source: FAO-56 eq. 83, p. 162
    """
    return p * taw


def stress(xp: Namespace, depletion: Array, taw: Array, raw: Array) -> Array:
    """Water stress coefficient of the day, Ks, 1 down to RAW, 0 at TAW, shape [blocks].

    depletion: at the start of the day, after its water [mm]
    Source: FAO-56 eq. 84, p. 169
    """
    return xp.maximum(0.0, xp.minimum(1.0, (taw - depletion) / (taw - raw)))


def wetted(xp: Namespace, depletion: Array, water: Array) -> Array:
    """Depletion after rain or watering [mm], shape [blocks]: what the root zone cannot hold drains away.

    Source: FAO-56 eq. 85 and 86, p. 170
    """
    return xp.maximum(0.0, depletion - water)


def dried(xp: Namespace, depletion: Array, etc: Array, taw: Array, raw: Array) -> Array:
    """Depletion after the day's evapotranspiration [mm], shape [blocks]. etc: without stress [mm].

    Source: FAO-56 eq. 81 and 85, pp. 161 and 170
    """
    return xp.minimum(taw, depletion + stress(xp, depletion, taw, raw) * etc)


def infiltrated(xp: Namespace, rain: Array, from_mm: Array, runoff_share: Array) -> Array:
    """Rain that enters the soil [mm], any shape: of a rain over `from_mm` a share runs off.

    Never below `from_mm` then, or a little more rain would wet the soil less.
    Source: common practice, no source
    """
    return xp.where(rain > from_mm, xp.maximum(from_mm, rain * (1 - runoff_share)), rain)
