"""Builds a drive unit's loss map from its machine, and keeps it beside the compiled code."""

from __future__ import annotations

import hashlib
import os
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from heatwright.cache import cache_home
from heatwright.physics import motor
from heatwright.physics.drive_map import LAYERS
from heatwright.physics.motor import Machine

N_SPEEDS, N_SHARES = 65, 49
T_REFERENCE_K = 353.15


@dataclass(frozen=True)
class DriveTable:
    """A loss map: `table[speed, share, layer]`, the torque available at each speed, the speed step."""

    table: np.ndarray
    torque_nm: np.ndarray
    omega_step: float
    t_reference_k: float


def drive_table(machine: Machine, t_reference_k: float = T_REFERENCE_K, folder: Path | None = None) -> DriveTable:
    """Return the map of `machine`, read from the cache where its parameters were seen before."""
    home = (cache_home() / "tables") if folder is None else folder
    file = home / f"drive-{_key(machine, t_reference_k)}.npz"
    if found := _read(file):
        return found
    built = build_drive_table(machine, t_reference_k)
    _write(file, built)
    return built


def build_drive_table(machine: Machine, t_reference_k: float = T_REFERENCE_K) -> DriveTable:
    """Return the map worked out afresh (about a quarter of a second)."""
    omega = np.linspace(0.0, machine.omega_max_rad_per_s, N_SPEEDS)
    most = motor.torque_max_nm(machine, omega)
    torque = most[:, None] * np.linspace(0.0, 1.0, N_SHARES)
    speed = np.broadcast_to(omega[:, None], torque.shape)
    table = np.empty((*torque.shape, LAYERS))
    best = motor.least_loss_currents_a(machine, torque, speed, t_reference_k)
    least = motor.losses_w(machine, *best, speed, t_reference_k)
    table[..., :4] = np.stack(np.broadcast_arrays(*least), axis=-1)
    table[..., 4:] = _extra(machine, torque, speed, least, t_reference_k)
    return DriveTable(table, most, float(omega[1]), t_reference_k)


def _extra(
    machine: Machine, torque: np.ndarray, speed: np.ndarray, least: tuple[Any, ...], t_reference_k: float
) -> np.ndarray:
    """Return the most extra loss, copper's and the inverter's part of it, capped when turning but not standing."""
    wanted = np.where(speed > 0.0, machine.extra_max_w, np.inf)
    worst = motor.losses_w(
        machine, *motor.lossy_currents_a(machine, torque, speed, wanted, t_reference_k), speed, t_reference_k
    )
    extra = [more - less for more, less in zip(worst, least, strict=True)]
    return np.stack([np.maximum(sum(extra), 0.0), extra[0], extra[3]], axis=-1)


def _key(machine: Machine, t_reference_k: float) -> str:
    digest = hashlib.blake2b(digest_size=8)
    digest.update(repr((machine, t_reference_k, N_SPEEDS, N_SHARES, LAYERS)).encode())
    for source in (motor.__file__, __file__):
        digest.update(Path(source).read_bytes())
    return digest.hexdigest()


def _read(file: Path) -> DriveTable | None:
    try:
        with np.load(file) as held:
            return DriveTable(held["table"], held["torque_nm"], float(held["omega_step"]), float(held["t_reference_k"]))
    except (OSError, KeyError, ValueError, EOFError):
        return None


def _write(file: Path, built: DriveTable) -> None:
    """Write under another name and move into place, so that a reader never meets half a file."""
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(suffix=".npz", dir=file.parent)
        with os.fdopen(handle, "wb") as out:
            np.savez(
                out,
                table=built.table,
                torque_nm=built.torque_nm,
                omega_step=built.omega_step,
                t_reference_k=built.t_reference_k,
            )
        os.replace(name, file)
    except OSError:
        return  # no cache folder: the map is simply built again next time
