"""Changes and techniques that the sample rounds lack or have too rarely: common practice.

Counts are invented; see drawing.py for what they are added to.
"""

from __future__ import annotations

# Position, role of the one who acts, position and role after, kind, count, technique.
CHANGES = (
    ("standing", "-", "mount", "top", "takedown", 1, "outside trip"),
    ("closed_guard", "top", "half_guard", "top", "advance", 1, "guard break"),
    ("closed_guard", "top", "side_control", "top", "pass", 1, "standing guard break"),
    ("standing", "-", "closed_guard", "top", "takedown", 2, "double leg"),
    ("standing", "-", "back_control", "top", "back_take", 1, "arm drag"),
    ("standing", "-", "half_guard", "bottom", "guard_pull", 2, "guard pull"),
    ("front_headlock", "top", "side_control", "top", "advance", 2, "rolling them over"),
    ("turtle", "bottom", "half_guard", "bottom", "escape", 2, "granby roll"),
    ("turtle", "bottom", "standing", "-", "escape", 2, "standing up"),
    ("back_control", "bottom", "open_guard", "top", "reversal", 1, "turning into the guard"),
    ("leg_entanglement", "top", "side_control", "top", "pass", 1, "coming up past the legs"),
    ("leg_entanglement", "bottom", "open_guard", "top", "reversal", 1, "knee line escape on top"),
    ("half_guard", "top", "knee_on_belly", "top", "pass", 2, "knee slide pass"),
    ("half_guard", "top", "north_south", "top", "pass", 1, "back step pass"),
    ("half_guard", "bottom", "standing", "-", "escape", 1, "technical stand-up"),
    ("half_guard", "bottom", "leg_entanglement", "top", "sweep", 2, "rolling under for the legs"),
    ("open_guard", "top", "leg_entanglement", "top", "advance", 3, "sitting back on the leg"),
    ("north_south", "bottom", "half_guard", "bottom", "escape", 1, "elbow knee escape"),
    ("knee_on_belly", "bottom", "turtle", "bottom", "escape", 1, "turning to turtle"),
    ("north_south", "top", "mount", "top", "advance", 1, "spinning to mount"),
    (
        "side_control",
        "top",
        "back_control",
        "top",
        "back_take",
        2,
        "following the turn to the back",
    ),
    ("front_headlock", "bottom", "half_guard", "bottom", "escape", 1, "pulling half"),
    ("mount", "bottom", "side_control", "top", "reversal", 1, "bridge and roll"),
    ("open_guard", "top", "mount", "top", "pass", 2, "leg drag"),
    ("side_control", "bottom", "standing", "-", "escape", 1, "getting to the feet"),
    ("knee_on_belly", "top", "north_south", "top", "advance", 1, "spinning to north south"),
)

# The ends of a change, and techniques for it with their counts.
TECHNIQUES = (
    (
        ("open_guard", "top", "side_control", "top"),
        {
            "over under pass": 1,
            "knee cut": 2,
            "smash pass": 2,
            "stack pass": 2,
            "x pass": 1,
            "leg weave": 1,
            "toreando pass": 1,
            "double under pass": 1,
            "folding pass": 1,
            "cartwheel pass": 0.5,
        },
    ),
    (
        ("open_guard", "bottom", "open_guard", "top"),
        {
            "hook sweep": 2,
            "de la riva sweep": 2,
            "lasso sweep": 2,
            "x guard sweep": 2,
            "collar drag": 2,
            "sit up sweep": 2,
            "lumberjack sweep": 2,
            "spider sweep": 2,
            "overhead sweep": 2,
        },
    ),
    (
        ("standing", "-", "open_guard", "top"),
        {
            "single leg": 1,
            "foot sweep": 1,
            "ankle pick": 1,
            "outside trip": 1,
            "knee tap": 1,
            "high crotch": 1,
        },
    ),
)

# Position, technique of the one on top, count.
SUBMISSIONS = (
    ("front_headlock", "guillotine", 1),
    ("mount", "s mount armbar", 2),
    ("leg_entanglement", "heel hook", 1),
    ("leg_entanglement", "kneebar", 1),
    ("back_control", "collar choke from the back", 2),
)
