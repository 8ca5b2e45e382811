"""The drive unit's map on disk: kept, found again, rebuilt when its inputs or the file are not the same."""

from __future__ import annotations

import dataclasses
import time
from pathlib import Path

import numpy as np

from heatwright.compiler.drive_table import build_drive_table, drive_table
from heatwright.physics.motor import SILICON_CARBIDE, Machine


def test_second_call_reads_the_file(tmp_path: Path) -> None:
    first = drive_table(Machine(), folder=tmp_path)
    (file,) = tmp_path.iterdir()
    stamp = file.stat().st_mtime_ns
    second = drive_table(Machine(), folder=tmp_path)
    assert file.stat().st_mtime_ns == stamp
    assert np.array_equal(first.table, second.table)
    assert np.array_equal(first.torque_nm, second.torque_nm)
    assert (first.omega_step, first.t_reference_k) == (second.omega_step, second.t_reference_k)


def test_another_machine_has_another_file(tmp_path: Path) -> None:
    plain = drive_table(Machine(), folder=tmp_path)
    carbide = drive_table(dataclasses.replace(Machine(), **SILICON_CARBIDE), folder=tmp_path)
    assert len(list(tmp_path.iterdir())) == 2
    assert (carbide.table[..., :4].sum(axis=-1) < plain.table[..., :4].sum(axis=-1)).all()


def test_a_broken_file_is_built_again(tmp_path: Path) -> None:
    drive_table(Machine(), folder=tmp_path)
    (file,) = tmp_path.iterdir()
    file.write_bytes(b"half a file")
    again = drive_table(Machine(), folder=tmp_path)
    assert np.array_equal(again.table, build_drive_table(Machine()).table)
    assert len(list(tmp_path.iterdir())) == 1


def test_no_folder_is_no_obstacle(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("not a folder")
    assert np.isfinite(drive_table(Machine(), folder=tmp_path / "file").table).all()


def test_building_takes_less_than_two_seconds() -> None:
    begin = time.perf_counter()
    build_drive_table(Machine())
    assert time.perf_counter() - begin < 2.0


def test_losses_are_finite_and_never_negative() -> None:
    built = build_drive_table(Machine())
    assert np.isfinite(built.table).all()
    assert (built.table >= 0.0).all()
    assert (np.diff(built.torque_nm) <= 1e-3).all()
