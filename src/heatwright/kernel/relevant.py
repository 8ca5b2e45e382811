"""Whether a candidate serves what is needed now: the others are neither looked at nor kept running."""

from __future__ import annotations

import numpy as np

from heatwright.kernel import dispatch_names as dn
from heatwright.kernel.desk import Desk
from heatwright.physics.jit import kernel_jit


@kernel_jit
def relevant(d: Desk, c: int) -> bool:
    """Return whether a candidate serves a live need, and moves no heat that nobody asked for."""
    need = d.need
    price = need[dn.N_LP]
    least, lifted = d.settings[dn.K_PASSIVE], d.settings[dn.K_LIFTED]
    live = 0
    may = 1 << dn.L_DRIVE | 1 << dn.L_DRY
    if need[dn.N_HEAT] > 0.5:
        live |= 1 << dn.L_HEAT
        may |= 1 << dn.L_PACK_COOL
    if need[dn.N_COOL] > 0.5:
        live |= 1 << dn.L_COOL
    if need[dn.N_DRY] > 0.5:
        live |= 1 << dn.L_DRY | 1 << dn.L_HEAT
        may |= 1 << dn.L_COOL
    serves = np.int64(d.serves[c])
    passive = (serves & 1 << dn.B_PASSIVE) != 0
    if need[dn.N_WANTED] < 0.5:  # standing: to run a compressor for it is to lift
        for j in range(d.comp_act.shape[0]):
            passive = passive and d.has_comp[c, j] == 0
    if need[dn.N_PACK_IN] > 0.0 or price > lifted or (passive and price > least):
        live |= 1 << dn.L_PACK_WARM
        may |= 1 << dn.L_COOL
    if need[dn.N_PACK_OUT] > 0.0 or price < -least:
        live |= 1 << dn.L_PACK_COOL
    if need[dn.N_DRIVE] > 0.5:
        live |= 1 << dn.L_DRIVE
    if need[dn.N_FROST] > 0.5:
        live |= 1 << dn.L_FROST
        may |= 1 << dn.L_COOL
    may |= live | 1 << dn.L_FROST | 1 << dn.B_PASSIVE
    both = 1 << dn.L_PACK_WARM | 1 << dn.L_PACK_COOL  # coolant that passes cabin and pack moves heat either way
    if (serves & both) == both and (live & both) != 0:
        may |= both
    return (serves & live) != 0 and (serves & ~may) == 0
