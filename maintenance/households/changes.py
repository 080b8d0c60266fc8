"""The one signal of the house: what a rig's standings rest on has changed.

Services of households and vehicles end with `inputs_changed.send`; plans is the only
receiver, and renews the standings in the same transaction. Services from plans up call
`renew_rigs` of `plans/receivers.py` themselves.
"""

from django.dispatch import Signal

# Arguments: `rig_ids` (a list, or None for all of `household`), `household`.
inputs_changed = Signal()
