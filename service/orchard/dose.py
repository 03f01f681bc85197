"""Product for a volume of spray. Exact figures are kept; what is told for a pump is rounded down, never a dose up.

A strength in ppm is mg of active per litre of mix; what the label tells is g of active per litre of product.
"""

from dataclasses import dataclass
from datetime import date
from decimal import ROUND_CEILING, Decimal

from service.orchard.block import Block
from service.orchard.figures import table
from service.orchard.job import JobKind
from service.orchard.settings import Settings

G_PER_KG = 1000


class Refused(ValueError):
    """No dose is given: `reason` says which figure makes no sense, `low` and `high` what is possible."""

    def __init__(self, reason: str, value: Decimal, low: Decimal | None = None, high: Decimal | None = None) -> None:
        super().__init__(f"{reason}: {value} is not between {low} and {high}")
        self.reason = reason
        self.value = value
        self.low = low
        self.high = high


@dataclass(frozen=True, slots=True)
class EthephonDose:
    """Ethephon for a volume of spray.

    ml_per_litre, product_ml: exact; volume_l as asked
    pumps: rounded up, so that the last one may be part full
    ml_per_pump, whole_product_ml: whole millilitres, rounded down: the safe side of a label's maximum
    ppm: the strength used, which the label or the adviser may have lowered
    """

    ml_per_litre: Decimal
    product_ml: Decimal
    volume_l: Decimal
    pumps: int
    ml_per_pump: int
    whole_product_ml: int
    ppm: Decimal
    grams_per_litre: Decimal


@dataclass(frozen=True, slots=True)
class BordeauxDose:
    """1 % Bordeaux mixture for a volume: kg in all, whole grams per pump (rounded down), pumps rounded up."""

    copper_kg: Decimal
    lime_kg: Decimal
    volume_l: Decimal
    pumps: int
    copper_g_per_pump: int
    lime_g_per_pump: int


def ethephon(
    ppm: Decimal,
    grams_per_litre: Decimal,
    volume_l: Decimal,
    sprayer_l: Decimal,
    label_max_ppm: Decimal | None = None,
) -> EthephonDose:
    """Product for a volume of mix: ml/L = ppm / (g/L), never above `label_max_ppm`.

    grams_per_litre: of the label, 100 to 800; sprayer_l: litres of one pump
    Raises Refused (`grams_per_litre`, `ppm`, `volume_l`, `sprayer_l`) for a figure that makes no sense.
    Source: the arithmetic of an official table of approved uses (ethephon 39 %: 1000 ppm = 3846 ml in 1500 L)
    """
    low, high = (Decimal(bound) for bound in table("doses")["label_strength"].value)
    if not low <= grams_per_litre <= high:
        raise Refused("grams_per_litre", grams_per_litre, low, high)
    _refuse_unless_positive(ppm=ppm, volume_l=volume_l, sprayer_l=sprayer_l)
    if label_max_ppm is not None:
        ppm = min(ppm, label_max_ppm)
    return EthephonDose(
        ml_per_litre=ppm / grams_per_litre,
        product_ml=ppm * volume_l / grams_per_litre,
        volume_l=volume_l,
        pumps=_pumps(volume_l, sprayer_l),
        ml_per_pump=int(ppm * sprayer_l // grams_per_litre),
        whole_product_ml=int(ppm * volume_l // grams_per_litre),
        ppm=ppm,
        grams_per_litre=grams_per_litre,
    )


def bordeaux(volume_l: Decimal, sprayer_l: Decimal) -> BordeauxDose:
    """Copper sulphate and hydrated lime for a volume of 1 % mixture, 1 kg and 1 kg in 100 L.

    Raises Refused (`volume_l`, `sprayer_l`) for a figure that makes no sense.
    """
    _refuse_unless_positive(volume_l=volume_l, sprayer_l=sprayer_l)
    copper, lime = (Decimal(table("doses")[f"bordeaux.{part}"].value) / 100 for part in ("copper", "lime"))  # kg/L
    return BordeauxDose(
        copper_kg=copper * volume_l,
        lime_kg=lime * volume_l,
        volume_l=volume_l,
        pumps=_pumps(volume_l, sprayer_l),
        copper_g_per_pump=int(copper * sprayer_l * G_PER_KG),
        lime_g_per_pump=int(lime * sprayer_l * G_PER_KG),
    )


def _refuse_unless_positive(**figures: Decimal) -> None:
    for reason, value in figures.items():
        if not value > 0:
            raise Refused(reason, value, Decimal(0))


def _pumps(volume_l: Decimal, sprayer_l: Decimal) -> int:
    return int((volume_l / sprayer_l).to_integral_value(ROUND_CEILING))


def ethephon_ppm(block: Block, job: JobKind, settings: Settings) -> Decimal:
    """Strength of a leaf spray [ppm]: more on black soil before the cut, never above the label or adviser on file."""
    if job == "second_spray":
        ppm = settings.second_spray_ppm
    else:
        ppm = settings.ppm_black_soil if block.soil == "black" else settings.ppm
    return ppm if settings.label_max_ppm is None else min(ppm, settings.label_max_ppm)


def spray_volume(block: Block, on: date, settings: Settings, plants: int | None = None) -> Decimal | None:
    """Spray mix for a block, or so many of its plants [L], unrounded: plants x litres by age.

    None where the plants or their age are not known.
    """
    plants = block.plants if plants is None else plants
    age = block.age_years(on)
    if plants is None or age is None:
        return None
    return plants * settings.litres_per_plant_at(max(0, age))
