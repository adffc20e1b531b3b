"""What a stranger who knows the library alone may write; `tests/test_strangers.py` checks it."""

from __future__ import annotations

import towscope as ts


def line_for(depth: str) -> float:
    """Give the line out for a depth [m]; NaN where the rig does not get there."""
    rig: ts.Rig = ts.rig("demo")
    try:
        answer: ts.RigAnswer = rig.let_out(depth=depth, speed="2 mph")
    except (ts.InputError, ts.NoAnswer) as error:
        print(error)
        return float("nan")
    low, high = answer.let_out_90_m
    print(answer, low, high, answer.to_dict()["layback_m"])
    return answer.let_out_m


def other_questions() -> None:
    """Ask for a table, another lure, a track, readings and a spread."""
    rig = ts.rig("demo").with_(lure="large-shad", water="50 degF")
    table: ts.LetOutTable = rig.table("10 to 30 ft by 10", ["1.8 mph", 0.9])
    print(table.let_out_m.shape, float(rig.depths([40.0], [0.9])[0, 0]))
    print(rig.shape(40.0, 0.9).depth_m.max(), rig.speed("30 ft", "170 ft").speed_m_s)
    track = {"time_s": [0.0, 60.0, 120.0], "x_m": [0.0, 54.0, 108.0], "y_m": [0.0, 0.0, 0.0]}
    ran: ts.FollowAnswer = rig.follow(track, "150 ft", every="10 s", bottom="60 ft")
    print(ran.columns()["depth_m"].mean(), ran.notes)
    tangles: ts.SpreadAnswer = ts.spread("demo", turn="60 ft to port", draws=1)
    print(tangles.verdict.word)


def learnt(table: str) -> str:
    """Calibrate the rig by a table of readings, and save it."""
    answer: ts.CalibrateAnswer = ts.calibrate("demo", table, since="2026-08-01")
    return str(answer.save())


if __name__ == "__main__":
    line_for("28 ft")
