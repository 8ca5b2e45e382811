"""What heat in the pack is worth: joules of electricity a joule, by temperature and the time there is."""

from __future__ import annotations

import numpy as np

from heatwright.physics.jit import kernel_jit

STANDING, CENTRE_K, SLOPE_K, PLATEAU, MAKING_W, MARGIN, HEAT_J_PER_K, WANTED_K = (np.uint64(k) for k in range(8))
N_PAR = 8
"""Standing price [-], where it is zero [K] and how far from there it is full [K]; plateau [-]; heat the plant can make
[W], margin of time [-], the pack's heat capacity [J/K], where the charge price is down to the plateau [K]."""


@kernel_jit
def table_price(t_k: float, grid: np.ndarray, values: np.ndarray) -> float:
    """Return a tabulated price [J/J] at `t_k`, straight between the even steps of `grid`, level beyond its ends.

    Parameters: `t_k` : [K]; `grid` : at least two evenly spaced temperatures [K]; `values` : prices there [J/J].
    Source: common practice.

    >>> table_price(275.0, np.array([270.0, 280.0]), np.array([2.0, 1.0]))
    1.5
    """
    last = grid.shape[0] - 1
    x = (t_k - grid[0]) / (grid[last] - grid[0]) * last
    if x <= 0.0:
        return values[0]
    if x >= last:
        return values[last]
    k = int(x)
    return values[k] + (values[k + 1] - values[k]) * (x - k)


@kernel_jit
def standing_price(t_k: float, price: float, t_zero_k: float, slope_k: float) -> float:
    """Return what heat is worth with no fast charge ahead [J/J], price clip((T_zero - T) / slope, -1, 1).

    Parameters: `t_k` : pack [K]; `price` : far from `t_zero_k` [J/J]; `t_zero_k` [K]; `slope_k` : [K], > 0.
    Source: judgement: a price that falls with temperature has no cliff.

    >>> [round(standing_price(t, 0.2, 293.15, 10.0), 3) for t in (263.15, 288.15, 313.15)]
    [0.2, 0.1, -0.2]
    """
    return price * min(max((t_zero_k - t_k) / slope_k, -1.0), 1.0)


@kernel_jit
def pack_price(t_pack_k: float, t_to_charge_s: float, grid: np.ndarray, values: np.ndarray, par: np.ndarray) -> float:
    """Return what a joule of heat put into the pack is worth in electricity [J/J].

    Before a fast charge: l(T) of the table, at most `plateau` while there is time to make the heat
    later: t_least = C (T_wanted - T) / P_make; from t = margin t_least down to t_least the price rises evenly from the
    one to the other.  While charging (t <= 0): l(T).
    Parameters: `t_pack_k` : pack [K]; `t_to_charge_s` : time until the next fast charge [s];
    `grid` [K] and `values` [J/J] : as `table_price`; `par` : see above.
    Source: judgement, after the shape of an optimal cost to go: a plateau at the cost of making heat later, then the
    slope of the cost of the charge itself.

    >>> par = np.array([0.2, 293.15, 10.0, 0.8, 5e3, 1.3, 445e3, 282.0])
    >>> grid, values = np.array([262.0, 282.0]), np.array([4.8, 0.8])
    >>> [round(pack_price(272.0, t, grid, values, par), 3) for t in (7200.0, 1000.0, 900.0, 0.0)]
    [0.8, 1.976, 2.725, 2.8]
    """
    full = table_price(t_pack_k, grid, values)
    if t_to_charge_s <= 0.0 or full <= par[PLATEAU]:
        return full
    least_s = par[HEAT_J_PER_K] * max(par[WANTED_K] - t_pack_k, 0.0) / par[MAKING_W]
    early_s = max((par[MARGIN] - 1.0) * least_s, 1e-9)
    pressing = min(max((least_s + early_s - t_to_charge_s) / early_s, 0.0), 1.0)
    return par[PLATEAU] + (full - par[PLATEAU]) * pressing


@kernel_jit
def between_rows(x: float, at: np.ndarray, rows: np.ndarray, first: int, last: int, out: np.ndarray) -> None:
    """Fill `out` with the row of prices at `x`: straight between the rows known, level beyond them.

    Parameters: `x` : a time [s] or a charge [-]; `at` : where each row of `rows` holds, rising from `first` to before
    `last`, of which alone are looked at; `rows` : prices [J/J], a column for each temperature.
    Source: common practice.

    >>> out = np.zeros(2)
    >>> between_rows(2.5, np.array([9.0, 2.0, 4.0]), np.array([[0.0, 0.0], [1.0, 2.0], [3.0, 2.0]]), 1, 3, out)
    >>> out
    array([1.5, 2. ])
    """
    low = first
    high = last - 1
    while high - low > 1:
        middle = (low + high) // 2
        if at[middle] < x:
            low = middle
        else:
            high = middle
    part = 0.0
    if high > low:
        part = min(max((x - at[low]) / (at[high] - at[low]), 0.0), 1.0)
    for k in range(out.shape[0]):
        out[k] = (1.0 - part) * rows[low, k] + part * rows[high, k]


@kernel_jit
def falls_to(level: float, grid: np.ndarray, values: np.ndarray) -> float:
    """Return the temperature at which a price is down to a level [K]; an end of the grid where it is nowhere.

    Parameters: `level` [J/J]; `grid` [K], rising; `values` : prices there [J/J], never rising.
    Source: common practice.

    >>> [falls_to(x, np.array([270.0, 280.0, 290.0]), np.array([4.0, 2.0, 0.0])) for x in (5.0, 3.0, 0.5, -1.0)]
    [270.0, 275.0, 287.5, 290.0]
    """
    n = grid.shape[0]
    for k in range(n):
        if values[k] <= level:
            if k == 0:
                return grid[0]
            return grid[k] + (grid[k - 1] - grid[k]) * (level - values[k]) / (values[k - 1] - values[k])
    return grid[n - 1]


@kernel_jit
def along(x: float, at: np.ndarray, values: np.ndarray) -> float:
    """Return the value of a path at `x`: straight between its points, level beyond them.

    Parameters: `at` : rising, at least one point; `values` : one for each.
    Source: common practice.

    >>> [along(x, np.array([1.0, 3.0]), np.array([0.0, 4.0])) for x in (0.0, 2.0, 9.0)]
    [0.0, 2.0, 4.0]
    """
    last = at.shape[0] - 1
    if x <= at[0]:
        return values[0]
    if x >= at[last]:
        return values[last]
    low = 0
    high = last
    while high - low > 1:
        middle = (low + high) // 2
        if at[middle] <= x:
            low = middle
        else:
            high = middle
    return values[low] + (values[high] - values[low]) * (x - at[low]) / (at[high] - at[low])


@kernel_jit
def pool_falling(values: np.ndarray, room: np.ndarray) -> None:
    """Pool neighbours that rise to their mean until `values` never rise: the nearest falling sequence.

    Parameters: `values` : any numbers, changed in place; `room` : as many, to work in.
    Source: pool adjacent violators, common practice.

    >>> values = np.array([4.0, 1.0, 3.0, 2.0, 5.0])
    >>> pool_falling(values, np.zeros(5))
    >>> values
    array([4.  , 2.75, 2.75, 2.75, 2.75])
    """
    blocks = 0
    for k in range(values.shape[0]):
        values[blocks] = values[k]
        room[blocks] = 1.0
        while blocks > 0 and values[blocks] > values[blocks - 1]:
            total = room[blocks - 1] + room[blocks]
            mean = (values[blocks - 1] * room[blocks - 1] + values[blocks] * room[blocks]) / total
            blocks -= 1
            values[blocks] = mean
            room[blocks] = total
        blocks += 1
    at = values.shape[0]
    for back in range(blocks):
        one = blocks - 1 - back
        mean = values[one]
        for _ in range(int(room[one])):
            at -= 1
            values[at] = mean
