"""All dialogues by name: the task of the corpus that each serves, or what a reminder or another dialogue opens."""

from __future__ import annotations

from collections.abc import Mapping

from dialogs.begun import BEGUN, BEGUN_CUT, BEGUN_RAINS, BEGUN_SPRAY
from dialogs.change_language import CHANGE_LANGUAGE
from dialogs.choosing import CHOOSE, GO_ON, SURE
from dialogs.delete_me import DELETE_ME
from dialogs.dialog import Dialog
from dialogs.help import CANCEL, HELP
from dialogs.hurt import HURT
from dialogs.join import JOIN, WHO
from dialogs.log_leaf_drop import LOG_LEAF_DROP
from dialogs.log_rain import LOG_RAIN
from dialogs.log_shoots import LOG_SHOOTS
from dialogs.log_spray import LOG_SPRAY
from dialogs.log_watering import LOG_WATERING
from dialogs.mix_spray import MIX_SPRAY
from dialogs.my_blocks import CHANGE_BLOCK, MY_BLOCKS
from dialogs.passed_on import ASK, CHOOSE_SEASON, CREW, LOG_FLOWERING, LOG_HARVEST, PERSON, WATER_NEED
from dialogs.plan import PLAN
from dialogs.postpone import POSTPONE
from dialogs.register_block import REGISTER_BLOCK
from dialogs.report_done import REPORT_DONE
from dialogs.report_trouble import REPORT_TROUBLE
from dialogs.resume import RESUME
from dialogs.set_cut_day import BEFORE_CUT, SET_CUT_DAY
from dialogs.stop import STOP
from dialogs.todays_jobs import TODAYS_JOBS
from dialogs.undo import UNDO
from dialogs.was_done import WAS_DONE

DIALOGS: Mapping[str, Dialog] = {
    dialog.name: dialog
    for dialog in (
        # about the conversation itself
        *(CHOOSE, GO_ON, SURE, HELP, CANCEL, UNDO),
        *(HURT, PERSON, ASK, CHOOSE_SEASON, WATER_NEED, LOG_FLOWERING, LOG_HARVEST, CREW),
        # about the grower
        *(JOIN, WHO, CHANGE_LANGUAGE, STOP, RESUME, DELETE_ME),
        # about blocks and their plan
        *(REGISTER_BLOCK, BEGUN, BEGUN_SPRAY, BEGUN_CUT, BEGUN_RAINS, MY_BLOCKS, CHANGE_BLOCK),
        *(SET_CUT_DAY, BEFORE_CUT, PLAN),
        # what is seen and done
        *(LOG_RAIN, LOG_SHOOTS, REPORT_TROUBLE, LOG_LEAF_DROP, LOG_WATERING, LOG_SPRAY, MIX_SPRAY),
        *(TODAYS_JOBS, REPORT_DONE, POSTPONE, WAS_DONE),
    )
}
