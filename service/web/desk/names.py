"""What the desk calls things. Keys are the plain names that stand in the tables."""

from __future__ import annotations

from service.web.pages.language import N_

GROUPS = {
    "hurt": N_("Someone is hurt"),
    "harm": N_("Trees may come to harm"),
    "season": N_("A season may be lost"),
    "asked": N_("Someone waits for an answer"),
    "texts": N_("Texts that do not arrive, and faults"),
}

MATTERS = {
    "hurt": N_("Someone is hurt"),
    "trouble": N_("Trouble reported"),
    "shoots": N_("New shoots in the rest"),
    "sprays_too_close": N_("Sprays too close together"),
    "leaves_fell_by_themselves": N_("Leaves fell by themselves"),
    "early_spray": N_("Leaf spray too early"),
    "second_leaf_spray": N_("A second leaf spray"),
    "rest_too_long": N_("The rest is too long"),
    "leaves_not_falling": N_("The leaves do not fall"),
    "early_cut": N_("Cut too early"),
    "season_missed": N_("The season is missed"),
    "cut_unreported": N_("No word of the cut"),
    "defoliate_unreported": N_("No word of the leaf spray"),
    "rest_unreported": N_("No word of the rest"),
    "leaf_check_unreported": N_("No word of the leaf check"),
    "copper_unreported": N_("No word of the copper spray"),
    "second_spray_unreported": N_("No word of the second spray"),
    "clean_unreported": N_("No word of the clean up"),
    "second_clean_unreported": N_("No word of the second clean up"),
    "water_unreported": N_("No word of the first water"),
    "fixed_cut_postponed": N_("A fixed cut was put off"),
    "postponed_too_long": N_("Put off for too long"),
    "not_done": N_("A job was not done"),
    "question": N_("Asked"),
    "person": N_("Wants to talk to a person"),
    "choose_season": N_("Asks which season to take"),
    "water_need": N_("Asks how much water"),
    "not_understood": N_("Not understood"),
    "crew": N_("Asks about a crew"),
    "flowering": N_("Tells of flowers"),
    "harvest": N_("Tells of the harvest"),
    "set_aside": N_("A text could not be handled"),
    "unreadable": N_("The gateway sent something unreadable"),
    "not_delivered": N_("Not delivered"),
    "no_text": N_("A text could not be worded"),
    "reminder_failed": N_("A reminder failed"),
    "too_many_texts": N_("Too many texts from one number"),
}

IF_LEFT = {
    "hurt": N_("First advice has gone out by itself. Ring now."),
    "trouble": N_("It may spread to the neighbours."),
    "shoots": N_("Buds that open in the rest are lost for this crop."),
    "sprays_too_close": N_("Copper and the leaf spray harm each other."),
    "leaves_fell_by_themselves": N_("Reminders pause until the adviser has looked."),
    "early_spray": N_("The tree is stripped before it has rested."),
    "second_leaf_spray": N_("Too much of it burns the wood."),
    "rest_too_long": N_("Twigs dry from the tip."),
    "leaves_not_falling": N_("The cut waits."),
    "early_cut": N_("Few flowers will come."),
    "season_missed": N_("Reminders pause until it is chosen."),
    "cut_unreported": N_("Nothing after the cut is reminded."),
    "defoliate_unreported": N_("The cut waits."),
    "not_delivered": N_("The grower thinks that nothing is due."),
}

# The figures of a diary entry.
FIGURES = {
    "amount_mm": N_("%(number)s mm"),
    "rain_mm": N_("%(number)s mm"),
    "minutes": N_("%(number)s minutes"),
    "plants": N_("%(number)s plants"),
    "percent": N_("%(number)s %%"),
    "volume_l": N_("%(number)s litres"),
    "litres_per_plant": N_("%(number)s litres a plant"),
    "area_ha": N_("%(number)s ha"),
}

DEEDS = {
    "taken": N_("Taken"),
    "given_back": N_("Given back"),
    "put_off": N_("Put off"),
    "closed": N_("Closed"),
    "opened_again": N_("Opened again"),
}

ROLES = {
    "coordinator": N_("coordinator"),
    "adviser": N_("adviser"),
    "field_officer": N_("field officer"),
    "read_only": N_("read only"),
    "administrator": N_("administrator"),
}

STAGES = {
    "no_plan": N_("no cut set"),
    "before_rest": N_("before the rest"),
    "resting": N_("in the rest"),
    "after_cut": N_("after the cut"),
    "late": N_("late"),
    "held": N_("waits for a choice"),
    "no_block": N_("growers without a block"),
}

HELD = {
    "season_missed": N_("season missed, waits for a choice"),
    "rest_not_enough": N_("waits for the adviser"),
    "fell_by_itself": N_("leaves fell, waits for the adviser"),
}

ENTRIES = {
    "block": N_("Block"),
    "retired": N_("Block retired"),
    "cut_set": N_("Cut set for"),
    "fruit": N_("Fruit"),
    "last_cut": N_("Last cut"),
    "rest_begun": N_("Water stopped"),
    "rain": N_("Rain"),
    "watering": N_("Watered"),
    "leaf_drop": N_("Leaves fallen"),
    "spray": N_("Sprayed"),
    "done": N_("Done"),
    "postponed": N_("Put off"),
    "shoots": N_("New shoots"),
    "trouble": N_("Trouble"),
    "ruling": N_("Adviser's word"),
}

RULINGS = {
    "rest_enough": N_("the rest is enough"),
    "rest_not_enough": N_("the rest is not enough"),
    "cut_fixed": N_("the cut is fixed"),
    "rain_not_counted": N_("a rain does not count"),
    "spray_called_off": N_("the spray is called off"),
    "withdrawn": N_("the last word is withdrawn"),
}

SAID_BY = {"grower": N_("grower"), "adviser": N_("adviser"), "staff": N_("staff")}

SEASONS = {"mrig": N_("mrig season"), "hasta": N_("hasta season"), "ambe": N_("ambe season")}

# What stands in a matter's text there is not a person's words but a name of ours.
WITHOUT_WORDS = ("not_delivered", "no_text", "reminder_failed")
