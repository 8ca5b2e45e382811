"""A made-up Run for tests of pictures, pages and files. Nothing in it comes from a model."""

from __future__ import annotations

import numpy as np

from heatwright.run import Label, Run, Span

LEGS = (
    ("Preheat on the plug", "precondition", 1800),
    ("Drive up to the hut", "drive", 2700),
    ("Stop in winter sun", "park", 20400),
    ("Drive down after dark", "drive", 2400),
    ("Fast charge", "charge", 1500),
    ("Way home", "drive", 1800),
    ("Garage", "park", 3600),
)
MODES = (
    "all off",
    "cabin from outside air",
    "cabin and pack from outside air",
    "drive heat to the cabin",
    "pack cooling by refrigerant while the cabin is dried",
    "stored heat only",
)
USES = {
    "traction": 9.412, "compressor": 2.207, "coolant_heater": 0.631, "blower": 0.352, "fan": 0.118,
    "pumps": 0.204, "auxiliaries": 0.911,
}  # fmt: skip


def fake_run(plant: str = "Made-up plant", *, seed: int = 1, hours: float = 9.5, warmer_k: float = 0.0) -> Run:
    """A run of 9.5 h at 1 s with about 70 series, all invented; `warmer_k` shifts its cabin and pack."""
    rng = np.random.default_rng(seed)
    n = int(hours * 3600)
    t = np.arange(n + 1, dtype=float)
    spans = _spans(n)
    driving = np.zeros(n + 1, dtype=bool)
    for span in spans:
        driving[span.first : span.last_exclusive] = span.kind == "drive"
    speed = np.where(driving, np.clip(17 + 9 * np.sin(t / 61) + 6 * np.sin(t / 23), 0, None), 0.0)
    series, labels = _bodies(t, driving, rng, warmer_k)
    _powers(series, labels, t, speed, rng)
    series["speed_m_per_s"] = speed
    labels["speed_m_per_s"] = Label("Road speed", "m/s", "road")
    series["mode"] = _modes(t, driving)
    labels["mode"] = Label("Mode", "", "mode")
    energy = {use: value * (1 + 0.02 * seed) for use, value in USES.items()}
    terms = _terms(energy)
    return Run(
        plant_name=plant,
        trip_name="Made-up hut day",
        t_s=t,
        series=series,
        labels=labels,
        mode_names=MODES,
        segments=spans,
        summary={
            "range_km": 287.4 - seed, "energy_kwh_per_100km": 23.61 + 0.1 * seed, "distance_km": 58.7,
            "energy_used_kwh": sum(energy.values()), "t_pack_end_k": float(series["t_pack_mean_k"][-1]),
            "soc_start": 0.82, "soc_end": 0.61,
        },
        ledger={
            "residual_j": sum(terms.values()), "residual_relative": 3.1e-9, "throughput_j": 6.1e7,
            "boundary_j": 1.2e6, "terms_j": terms,
        },
        health={
            "circuit_residual_max": 2.1e-9, "steps_redone": 14, "tables_clipped": 0,
            "limits_hit": {"suction pressure": 31, "discharge temperature": 0},
            "step_doubling_error_k": 0.062,
        },
        comfort={
            "time_to_20c_s": 691.0 + 10 * seed, "glass_clear_s": 412.0, "cabin_error_mean_k": 0.84,
            "occupied_below_18c_s": 505.0,
        },
        energy_kwh=energy,
        provenance={
            "elapsed_s": 0.412, "accuracy": "normal", "made_at": "2031-01-14T05:40:00Z",
            "versions": {"heatwright": "0.1.0", "numpy": "2.4.6", "numba": "0.68.1"},
            "plant_source": "made_up.plant.toml", "plant_digest": "9f2c" * 16,
            "trip_source": "made_up.trip.toml", "trip_digest": "07be" * 16,
            "plant_about": "Invented for tests; no part of it is taken from a vehicle.",
            "assumed": ["coolant: water-glycol 50 %", "cabin leakage: 3 L/s at rest"],
        },
    )  # fmt: skip


def _spans(n: int) -> tuple[Span, ...]:
    total = sum(length for _, _, length in LEGS)
    edges = np.round(np.cumsum([0] + [length for _, _, length in LEGS]) * n / total).astype(int)
    return tuple(
        Span(name, kind, int(a), int(b)) for (name, kind, _), a, b in zip(LEGS, edges[:-1], edges[1:], strict=True)
    )


def _lag(driving: np.ndarray, low: float, high: float, tau_s: float, start: float) -> np.ndarray:
    """First-order approach to `high` while driving and to `low` otherwise."""
    out = np.empty(len(driving))
    value = start
    for k, on in enumerate(driving):
        value += ((high if on else low) - value) / tau_s
        out[k] = value
    return out


def _bodies(
    t: np.ndarray, driving: np.ndarray, rng: np.random.Generator, warmer_k: float
) -> tuple[dict[str, np.ndarray], dict[str, Label]]:
    outside = 263.15 + 4 * np.sin(t / 9000 - 1)
    cabin = _lag(driving, 266.0, 294.15, 500, 262) + warmer_k
    pack = _lag(driving, 270.0, 296.0, 2500, 265) + warmer_k
    drive = _lag(driving, 266.0, 331.0, 1100, 263)
    vent = cabin + np.where(driving, 22 + 2 * np.sin(t / 40), 0)
    named = {
        "t_cabin_air_k": ("Cabin air", cabin, "cabin"),
        "t_cabin_vent_k": ("Vent air", vent, "cabin"),
        "t_pack_mean_k": ("Pack, mean of cells", pack, "pack"),
        "t_pack_hottest_k": ("Pack, hottest cell", pack + 1.5, "pack"),
        "t_drive_winding_k": ("Drive unit winding", drive, "drive"),
        "t_outside_k": ("Outside air", outside, "outside"),
    }
    for k in range(24):
        mix = 0.5 + 0.4 * np.sin(k)
        values = mix * drive + (1 - mix) * cabin + rng.normal(0, 0.05, len(t))
        named[f"t_coolant_{k:02d}_k"] = (f"Coolant after part {k + 1}", values, "coolant")
    series = {name: values.astype(np.float32) for name, (_, values, _) in named.items()}
    labels = {name: Label(text, "K", "temperature", body) for name, (text, _, body) in named.items()}
    for name, words, level in (("p_suction_pa", "Suction", 2.1e5), ("p_discharge_pa", "Discharge", 11e5)):
        wave = level * (1 + 0.08 * np.sin(t / 77)) * np.where(driving, 1, 0) + 4.4e5 * ~driving
        series[name] = wave.astype(np.float32)
        labels[name] = Label(words, "Pa", "pressure", "circuit")
    return series, labels


def _powers(
    series: dict[str, np.ndarray],
    labels: dict[str, Label],
    t: np.ndarray,
    speed: np.ndarray,
    rng: np.random.Generator,
) -> None:
    moving = speed > 0
    uses = {
        "traction": 900 * speed + 4000 * rng.normal(0, 1, len(t)) * moving,
        "compressor": 1900 * moving * (1 + 0.2 * np.sin(t / 300)),
        "coolant_heater": 2600 * moving * np.exp(-(t % 9000) / 900),
        "blower": 180.0 * moving,
        "fan": 90.0 * moving * (np.sin(t / 500) > 0),
        "pumps": 70.0 * moving,
        "auxiliaries": 240.0 * moving + 12,
    }
    for use, values in uses.items():
        series[f"p_{use}_w"] = values.astype(np.float32)
        labels[f"p_{use}_w"] = Label(use.replace("_", " ").capitalize(), "W", "power", use)
    for k in range(16):
        series[f"q_part_{k:02d}_w"] = (500 * np.sin(t / (200 + 30 * k)) * moving).astype(np.float32)
        labels[f"q_part_{k:02d}_w"] = Label(f"Heat into part {k + 1}", "W", "heat", "coolant")
    for k in range(6):
        series[f"x_valve_{k}"] = (0.5 + 0.5 * np.sign(np.sin(t / (700 + 90 * k)))).astype(np.float32)
        labels[f"x_valve_{k}"] = Label(f"Valve {k + 1}", "", "actuator", "coolant")
    for k in range(6):
        series[f"mdot_leg_{k}_kg_per_s"] = (0.1 * moving * (1 + 0.1 * k)).astype(np.float32)
        labels[f"mdot_leg_{k}_kg_per_s"] = Label(f"Flow in leg {k + 1}", "kg/s", "flow", "coolant")
    series["soc"] = (0.82 - 0.21 * np.cumsum(moving) / max(1, moving.sum())).astype(np.float32)
    labels["soc"] = Label("State of charge", "", "state", "pack")


def _modes(t: np.ndarray, driving: np.ndarray) -> np.ndarray:
    mode = np.zeros(len(t), dtype=np.int16)
    since = np.cumsum(driving)
    mode[driving] = 1 + (since[driving] // 700) % 5
    mode[driving & ((t // 45) % 9 == 0)] = 3
    return mode


def _terms(energy: dict[str, float]) -> dict[str, float]:
    """Signed joules that close but for 0.2 J."""
    into = {f"electric_{use}": value * 3.6e6 for use, value in energy.items()}
    into["sun"] = 2.9 * 3.6e6
    into["people"] = 0.31 * 3.6e6
    total = sum(into.values())
    out = {"road_work": -0.52 * total, "outside_air": -0.33 * total, "sky": -0.02 * total}
    out["stored_in_pack"] = -0.09 * total
    out["stored_in_the_rest"] = -(total + sum(out.values())) + 0.2
    return into | out
