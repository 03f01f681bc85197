"""How much product goes into how much water. Never a dose above the label or the adviser on file, whatever is typed.

grower   bottle say 39% and pump is 16 litre
cutday   Block 1, 240 plants: 23 pumps of 16 l. One pump: 41 ml ethephon. In all 943 ml. 39 % read as 390 g/L: check label. 1000 ppm.
cutday   Gloves, eyes, mask. No child, nobody pregnant or nursing. No wind, no rain 6 h. Never in one tank with copper.
"""  # noqa: E501 - a text is one line

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from decimal import Decimal
from typing import Any

from dialogs.answers import between, listed, own_blocks, several_blocks, the_blocks
from dialogs.block_facts import possible_plants
from dialogs.care import care
from dialogs.dialog import Ask, AskAgain, Dialog, Filled, Outcome, Reply, never, told
from dialogs.farm import Farm
from dialogs.jobs import cut_begun
from dialogs.log_spray import COPPER, ETHEPHON, due_sprays, known_product, possible_volume
from dialogs.spraying import Water, allowed_ppm, block_water, bordeaux_values, ethephon_values, whole_pump
from service.orchard.dose import Refused as NoDose
from service.orchard.dose import ethephon
from service.orchard.job import JobKind

possible_ppm = between(10, 20_000, "mix_spray.ppm_possible")
# No ethephon is sold weaker: a smaller share told is one of leaves. From memory.
LEAST_PERCENT = 20

possible_pump = between(1, 5000, "mix_spray.litres_possible")


def _possible_strength(value: Any, filled: Filled, farm: Farm) -> Any:
    """A label's grams per litre; one that makes no sense gives no dose."""
    said = listed(value)[0]
    try:
        ethephon(Decimal(1), Decimal(str(said)), Decimal(1), Decimal(1))
    except NoDose as no_dose:
        raise AskAgain(
            "mix_spray.strength_possible", grams_per_litre=said, least=_whole(no_dose.low), most=_whole(no_dose.high)
        ) from no_dose
    return said


def _label_percent(value: Any, filled: Filled, farm: Farm) -> Any:
    """A label's strength answered in percent; a share this small was meant for something else."""
    said = listed(value)[0]
    if said < LEAST_PERCENT:
        raise AskAgain("mix_spray.which_label")
    _possible_strength(said * 10, filled, farm)
    return said


def _told_strength(filled: Filled) -> Any:
    """Grams per litre of the label as told: 39 % is read as 390."""
    percent = filled.get("percent")
    return filled.get("grams_per_litre") if percent is None else percent * 10


def _whole(bound: Decimal | None) -> int:
    return int(bound or 0)


def _products(value: Any, filled: Filled, farm: Farm) -> list[str]:
    return list(dict.fromkeys(known_product(said, filled, farm) for said in listed(value)))


def _asked_together(filled: Filled) -> bool:
    """Whether both are asked for that must never be in one tank."""
    told = set(listed(filled.get("product")))
    return bool(told & {*ETHEPHON}) and bool(told & {*COPPER})


def _product(filled: Filled, farm: Farm) -> str | None:
    """Told, or plain from a strength that only ethephon has, or that of the spray that is due now or the next day."""
    if filled.get("product"):
        return "ethephon" if _asked_together(filled) else str(listed(filled["product"])[0])
    if filled.get("grams_per_litre") is not None or filled.get("ppm") is not None:
        return "ethephon"
    due = {product for _, product in _due(filled, farm)}
    return due.pop() if len(due) == 1 else None


def _due(filled: Filled, farm: Farm) -> list[tuple[str, str]]:
    return due_sprays(filled, farm, farm.today + timedelta(1))


def _product_open(filled: Filled, farm: Farm) -> bool:
    return _product(filled, farm) is None


def _number(filled: Filled, farm: Farm) -> str | None:
    """The block that the mix is for: told, the only one, or the only one on which this spray is due."""
    if filled.get("block"):
        return str(filled["block"][0])
    if len(farm.blocks) == 1:
        return next(iter(farm.blocks))
    due = {number for number, product in _due(filled, farm) if _kind(product) == _kind(_product(filled, farm))}
    return due.pop() if len(due) == 1 else None


def _kind(product: str | None) -> bool:
    return product in ETHEPHON


def _volume(filled: Filled) -> Any:
    """The spray water told; a pump's size is not the water for a block."""
    volume = filled.get("volume_l")
    return None if volume is None or volume == filled.get("pump_l") else listed(volume)[0]


def _block_open(filled: Filled, farm: Farm) -> bool:
    no_figures = filled.get("volume_l") is None and _product(filled, farm) != "other"
    return several_blocks(filled, farm) and bool(farm.blocks) and no_figures and _number(filled, farm) is None


def _volume_open(filled: Filled, farm: Farm) -> bool:
    return _product(filled, farm) != "other" and _water(filled, farm) is None


def _water(filled: Filled, farm: Farm) -> Water | None:
    """The spray water: as told, else for so many plants or all of the block, else one pump where only that was told."""
    pump_l = whole_pump(filled.get("pump_l"), farm.settings)
    if (volume := _volume(filled)) is not None:
        return Water(Decimal(str(volume)), pump_l, whole=False)
    number = _number(filled, farm)
    plants = filled.get("plants")
    water = block_water(farm.blocks[number], farm.today, pump_l, farm.settings, plants) if number is not None else None
    if water is None and filled.get("pump_l") is not None:
        return Water(pump_l, pump_l, whole=False)
    return water


def _dose(filled: Filled, farm: Farm) -> Outcome:
    product, water, number = _product(filled, farm), _water(filled, farm), _number(filled, farm)
    if product == "other" or water is None:
        return Outcome((Reply("mix_spray.no_dose"),))
    values: dict[str, Any] = {}
    if number is not None:
        values |= {"block": number, "plants": filled.get("plants") or farm.blocks[number].plants}
    size = "block" if water.whole else "pumps" if water.volume_l > water.pump_l else "one"
    if product not in ETHEPHON:
        mix = Reply("mix_spray.bordeaux_" + size, {**values, **bordeaux_values(water), "product": "bordeaux"})
        return Outcome((mix, Reply("mix_spray.care_copper")), more=care("copper"))
    plan = farm.plan(number) if number is not None else None
    job: JobKind = "second_spray" if cut_begun(plan) else "defoliate"
    values |= _ethephon(filled, number, job, water, farm)
    mix = Reply("mix_spray.ethephon_" + size, {**values, "product": "ethephon"})
    never = (Reply("mix_spray.never_together", {"gap": farm.settings.copper_ethephon_gap_days}),)
    replies = (*(never if _asked_together(filled) else ()), mix, Reply("mix_spray.care_ethephon"))
    return Outcome(replies, more=care(job))


def _ethephon(filled: Filled, number: str | None, job: JobKind, water: Water, farm: Farm) -> dict[str, Any]:
    block = farm.blocks[number] if number is not None else None
    allowed = allowed_ppm(block, job, farm.settings)
    said = filled.get("ppm")
    wanted = Decimal(str(listed(said)[0])) if said is not None else allowed
    told_strength = _told_strength(filled)
    grams = Decimal(str(told_strength)) if told_strength is not None else farm.settings.grams_per_litre
    values = ethephon_values(water, min(wanted, allowed), grams, farm.settings)
    return {
        **values,
        "label": _label(values["grams_per_litre"], filled),
        "strength": _strength(values["ppm"], wanted, allowed, farm),
    }


def _label(grams_per_litre: int | float, filled: Filled) -> Mapping[str, Any]:
    """The part of the text that says which label strength was used."""
    if _told_strength(filled) is None:
        return {"key": "label.assumed", "grams_per_litre": grams_per_litre}
    if (filled.get("strength_from_percent") or filled.get("percent") is not None) and grams_per_litre % 10 == 0:
        return {"key": "label.percent", "grams_per_litre": grams_per_litre, "share": int(grams_per_litre // 10)}
    return {"key": "label.told", "grams_per_litre": grams_per_litre}


def _strength(ppm: int | float, wanted: Decimal, allowed: Decimal, farm: Farm) -> Mapping[str, Any]:
    """The part of the text that says how strong the mix is, and who may make it stronger."""
    if wanted > allowed:
        return {"key": "strength.no_more", "ppm": ppm}
    if allowed > farm.settings.ppm and wanted == allowed:
        return {"key": "strength.black_soil", "ppm": ppm}
    return {"key": "strength.plain", "ppm": ppm}


MIX_SPRAY = Dialog(
    "mix_spray",
    asks=(
        told("block", own_blocks),
        told("plants", possible_plants),
        Ask("grams_per_litre", "mix_spray.which_label", _possible_strength, when=never, reads="ppm"),
        told("percent", _label_percent),
        told("ppm", possible_ppm),
        told("pump_l", possible_pump),
        Ask("product", "mix_spray.which_product", _products, when=_product_open),
        Ask("block", "block.which", own_blocks, when=_block_open, values=the_blocks),
        Ask("volume_l", "mix_spray.how_much_water", possible_volume, when=_volume_open),
    ),
    finish=_dose,
)
