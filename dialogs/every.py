"""All dialogues by name: the task of the corpus that each serves, or what a reminder or another dialogue opens."""

from __future__ import annotations

from collections.abc import Mapping

from dialogs.choosing import CHOOSE, GO_ON, SURE
from dialogs.dialog import Dialog
from dialogs.hurt import HURT
from dialogs.join import JOIN, WHO
from dialogs.log_rain import LOG_RAIN
from dialogs.undo import UNDO

DIALOGS: Mapping[str, Dialog] = {
    dialog.name: dialog for dialog in (CHOOSE, GO_ON, SURE, HURT, JOIN, WHO, LOG_RAIN, UNDO)
}
