"""Whole ferments drawn from published kinetics, and the file that the package ships."""

from functools import cache

import numpy as np
import pytest

from bubblerate.ferment import kinetics
from bubblerate.ferment.atlas import ATLAS_FILE, DAYS, FALL_POINTS, load_atlas, save_atlas
from bubblerate.ferment.kinetics import LOT, SEED, draw_ferments


@cache
def first_lot():
    """The ferments that the file begins with, drawn anew."""
    return draw_ferments(np.random.default_rng([SEED, 0]), LOT)


def test_the_shipped_atlas_is_what_the_script_draws(tmp_path):
    log_share, fall, og, extract = first_lot()
    path = tmp_path / "atlas.npz"
    save_atlas(path, log_share=log_share, fall=fall, og=og, extract=extract)
    with np.load(path) as drawn, np.load(ATLAS_FILE) as shipped:
        assert sorted(drawn) == sorted(shipped)
        n = len(fall)
        for name in ("fall", "og", "extract"):
            np.testing.assert_allclose(shipped[name][:n], drawn[name], rtol=1e-5)
        steps = np.abs(shipped["log_share"][:n].astype(int) - drawn["log_share"].astype(int))
        assert steps.max() <= 1  # a last digit may fall on the other side of a step


def test_the_file_is_written_whole(tmp_path, monkeypatch):
    lot = tuple(part[:30] for part in first_lot())
    monkeypatch.setattr(kinetics, "FERMENTS", 50)
    monkeypatch.setattr(kinetics, "draw_ferments", lambda *_: lot)
    kinetics.write_atlas(tmp_path / "atlas.npz")
    with np.load(tmp_path / "atlas.npz") as held:
        assert held["log_share"].shape == (50, len(DAYS))


def test_the_atlas_holds_as_many_as_the_script_says():
    assert len(load_atlas()) == kinetics.FERMENTS
    assert ATLAS_FILE.stat().st_size < 300_000


def test_no_ferment_falls_further_than_its_sugar_lets_it():
    _, fall, og, extract = first_lot()
    assert np.all(fall < 1.2 * (og - extract) + 1e-6)  # alcohol is lighter than water by a fifth
    assert np.all((og - fall > -25.0) & (og - fall < og))


def test_gas_is_what_fell_but_for_what_stays_dissolved():
    log_share, *_ = first_lot()
    rate = np.exp(log_share)
    gas = np.trapezoid(rate, DAYS, axis=1)
    assert 0.85 < np.median(gas) < 1.0
    assert np.all(gas < 1.1)


def test_without_its_additions_it_is_the_published_model():
    # An integration by others, of the equations of Cramer et al. 2002 with their constants
    from scipy.integrate import solve_ivp

    must = kinetics._draw_must(np.random.default_rng(1), 1)
    plain = dict.fromkeys(("hardy", "wave", "cools", "moved", "power", "tires", "late"), 0.0)
    plain |= {"sugar": 220.0, "first": 220.0, "cells": 0.15, "nitrogen": 0.2, "pace": 1.0}
    plain |= {"growth": 3.84, "uptake": 7.2, "half": 10.0, "kills": 0.0024, "lag": 1e-3}
    plain |= {"cells_per_nitrogen": 31.0, "most_ethanol": 1e9, "second_speed": 0.0}
    must |= {name: np.array([value]) for name, value in plain.items()}

    def change(_hour, state):
        cells, nitrogen, ethanol, sugar = state
        grown = 0.16 * nitrogen / (0.010 + nitrogen) * cells
        made = 0.3 * sugar / (10.0 + sugar) * cells
        return [grown - 1e-4 * ethanol * cells, -grown / 31.0, made, -made / 0.47]

    hours = 24.0 * np.array([2.0, 5.0, 10.0, 20.0])
    late = 0.48  # hours: half a first step goes by before the shortest lag is over
    start, to = [0.15, 0.2, 0.0, 220.0], hours[-1] - late
    run = solve_ivp(change, (0.0, to), start, t_eval=hours - late, method="LSODA", rtol=1e-8)
    fallen = kinetics._fallen(must)[:, 0] / FALL_POINTS
    found = np.interp(hours / 24.0, np.append(0.0, kinetics._ENDS), 220.0 - fallen)
    np.testing.assert_allclose(found, run.y[3], rtol=0.01, atol=0.2)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_the_atlas_is_wide(share):
    """From a week to months: what it does not hold it cannot find."""
    atlas = load_atlas()
    end = np.array([np.interp(0.95, done, DAYS) for done in atlas.fallen[::10]])
    low, high = {0.1: (4.0, 12.0), 0.5: (12.0, 30.0), 0.9: (30.0, 90.0)}[share]
    assert low < np.quantile(end, share) < high
