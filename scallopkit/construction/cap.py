"""The cap of a dart: the line between its legs that makes the folded intake end at the trimmed line.

A dart is sewn closed and its intake pressed to one side, where it lies doubled under the cloth, from the legs to the
fold along the dart's centre line. What is cut or sewn along the trimmed line goes through all layers. Unfolded, the
layer of the leg on the far side goes on flat across it, as if the cloth had no dart; the layer of the leg on the near
side is the mirror image in that leg. They meet on the centre line.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import RequestError
from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..pattern.joins import DART, FOLD, LAP
from ..pattern.laying import Joint, LaidRun
from .chain import between, on_line, points_at

# The side to which an intake is pressed, along the run.
TOWARD_START, TOWARD_END = -1, 1

# Places nearer than this, mm, are one.
_MEETS = 1e-6
# A dart of a smaller angle, radians, takes up less than 1e-6 mm on legs of a metre.
_LEAST_ANGLE = 1e-9


@dataclass(frozen=True, eq=False)
class Cap:
    """The cap of one dart.

    Attributes:
        curve: its line (n, 4, 2) on the sheet, in the walking direction from the first leg to the second.
        pressed: TOWARD_START or TOWARD_END.
        intake: width of the dart at the joint, mm.
        bridge: length in mm of the straight line between the two layers' ends, where the legs are not equally long or
            the trimmed line ends before the fold of the intake; 0 where the layers meet there.
    """

    curve: Array
    pressed: int
    intake: float
    bridge: float = 0.0


@dataclass(frozen=True, eq=False)
class _Dart:
    """A dart closed in the flat frame.

    Attributes:
        joint: the joint.
        to_sheet: the maps (2, 3) from the flat frame to the sheet, of the first and of the second leg.
        apexes: where the legs (2, 2), laid on each other, end; apart where they are not equally long.
        half: half the dart's angle in radians.
    """

    joint: Joint
    to_sheet: tuple[Array, Array]
    apexes: Array
    half: float


def dart_cap(run: LaidRun, joint_number: int, line: Sequence[Array], toward: int) -> Cap:
    """The cap that a dart needs for its intake to end at a line.

    Args:
        run: the run laid flat.
        joint_number: the number of the dart's joint in the run.
        line: the curves (n, 4, 2) of the trimmed line beside the joint, in order along the run, in the frame in which
            the part before the joint lies flat; on the side it is pressed to they reach as far as the intake does.
        toward: TOWARD_START or TOWARD_END, the side to which the intake is pressed.

    Returns:
        The cap; it starts and ends where the line, on its way over the legs, is nearest to the joint.

    Raises:
        RequestError: the line does not pass over the dart, or the dart has no intake.
    """
    if run.joints[joint_number].kind != DART or toward not in (TOWARD_START, TOWARD_END):
        raise ValueError(f"a cap is made at a dart, pressed to {TOWARD_START} or {TOWARD_END}")
    dart = _dart(run, joint_number)
    onward = _from_legs(dart, line, toward)
    first, second = (
        motion.apply(_unfolded(dart, leg, toward), _up_to_fold(onward, apex, _beyond_fold(dart, toward)))
        for leg, apex in enumerate(dart.apexes)
    )
    curve, bridge = _joined(first, cubics.reverse(second))
    mouth = [motion.apply(back, dart.joint.point) for back in dart.to_sheet]
    return Cap(curve, toward, float(np.hypot(*(mouth[1] - mouth[0]))), bridge)


def pressed_by_default(run: LaidRun, joint_number: int) -> int:
    """The side to which a dart's intake is pressed: TOWARD_START or TOWARD_END.

    Darts that stand upright on the sheet, or within 45 degrees of it, are pressed to the centre of the garment, others
    downward (common practice, no source). That the piece is drawn as it is worn can't be told from it.
    """
    met = run.joints[joint_number].meeting
    if met is None or met.apex is None:
        raise ValueError("only a dart is pressed to a side")
    across, up = np.abs(met.apex - 0.5 * (met.first.curve[-1, 3] + met.second.curve[0, 0]))
    return toward_centre(run, joint_number) if up >= across else downward(run, joint_number)


def toward_centre(run: LaidRun, joint_number: int) -> int:
    """The side on which the centre front or back lies: TOWARD_START or TOWARD_END.

    It lies where the edge of the dart's piece ends at a fold, at a lap or free, and not where it ends at another join.
    Where both ways or neither lead there, TOWARD_START.
    """
    ways = [_ends_at_centre(run, joint_number, way) for way in (TOWARD_START, TOWARD_END)]
    return TOWARD_END if ways == [False, True] else TOWARD_START


def downward(run: LaidRun, joint_number: int) -> int:
    """The side of the leg that starts lower on the sheet: TOWARD_START or TOWARD_END."""
    met = run.joints[joint_number].meeting
    if met is None:
        raise ValueError("only a dart is pressed to a side")
    return TOWARD_END if met.second.curve[0, 0, 1] > met.first.curve[-1, 3, 1] else TOWARD_START


def _ends_at_centre(run: LaidRun, joint_number: int, way: int) -> bool:
    """Whether a fold, a lap or a free end is what first comes, past other darts."""
    count = len(run.joints)
    for step in range(1, count + 1):
        k = joint_number + way * step
        if not run.loop and not 0 <= k < count:
            return True
        if run.joints[k % count].kind != DART:
            return run.joints[k % count].kind in (FOLD, LAP)
    return False


def _dart(run: LaidRun, joint_number: int) -> _Dart:
    joint = run.joints[joint_number]
    following = run.parts[(joint_number + 1) % len(run.parts)].motion
    if joint_number + 1 == len(run.parts):
        following = motion.compose(run.closing, following)
    laid = (run.parts[joint_number].motion, following)
    to_sheet = (motion.inverse(laid[0]), motion.inverse(laid[1]))
    # The second leg as it lies beside the first on the sheet, seen from the apex.
    opened = -motion.compose(laid[0], to_sheet[1])[:, :2] @ joint.along
    angle = math.atan2(float(opened @ joint.square), float(-(opened @ joint.along)))
    if not angle > _LEAST_ANGLE:
        raise RequestError(
            f'the dart at "{joint.name}" has no intake between its legs that could be pressed aside: check its apex '
            "and its legs"
        )
    if joint.meeting is None or joint.meeting.apex is None:
        raise ValueError("a dart has an apex")
    reach = np.array([(motion.apply(m, joint.meeting.apex) - joint.point) @ joint.along for m in laid])
    return _Dart(joint, to_sheet, joint.point + reach[:, None] * joint.along, 0.5 * angle)


def _from_legs(dart: _Dart, line: Sequence[Array], toward: int) -> Array:
    """The line walked from where it passes over the legs to the side the intake is pressed to, up to its first gap."""
    joint = dart.joint
    chain = np.concatenate([np.zeros((0, 4, 2)), *line])
    places = on_line(chain, joint.point, joint.square)
    points = points_at(chain, places)
    nearest = int(np.argmin(np.hypot(*(points - joint.point).T))) if len(places) else -1
    outside = ((dart.apexes - points[nearest]) @ joint.along).min() > _MEETS if len(places) else False
    onward = _beyond(chain, float(places[nearest]), toward) if outside else chain[:0]
    if not len(onward):
        raise RequestError(
            f'no trimmed line passes over the closed dart at "{joint.name}" between its apex and the edge, so its '
            "intake can't be cut along with it: let the scallops pass over the dart, or make the dart longer"
        )
    return onward


def _beyond(chain: Array, place: float, toward: int) -> Array:
    """What of a chain lies beyond a place on it, walked away from there, up to its first gap."""
    part = between(chain, place, float(len(chain))) if toward == TOWARD_END else between(chain, 0.0, place)
    walked = part if toward == TOWARD_END else cubics.reverse(part)
    gaps = np.flatnonzero(cubics.norm(walked[1:, 0] - walked[:-1, 3]) > _MEETS)
    return walked[: int(gaps[0]) + 1] if len(gaps) else walked


def _beyond_fold(dart: _Dart, toward: int) -> Array:
    """Unit direction square to the fold of the intake, away from the intake."""
    side = toward * dart.joint.square
    return np.asarray(math.cos(dart.half) * side + math.sin(dart.half) * dart.joint.along)


def _up_to_fold(onward: Array, apex: Array, beyond: Array) -> Array:
    """The part of the line that lies over the folded intake: all of it where it ends before the fold."""
    places = on_line(onward, apex, beyond)
    # A line that only touches the fold does not leave the intake there.
    until_next = 0.5 * (places + np.append(places[1:], len(onward)))
    leaves = (points_at(onward, until_next) - apex) @ beyond > _MEETS
    return between(onward, 0.0, float(places[int(np.argmax(leaves))])) if leaves.any() else onward


def _unfolded(dart: _Dart, leg: int, toward: int) -> Array:
    """The map that carries the line over the intake to the layer of a leg on the sheet."""
    far = 0 if toward == TOWARD_END else 1
    mirror = motion.IDENTITY if leg == far else motion.mirrored(dart.joint.point, dart.joint.along)
    return motion.compose(dart.to_sheet[leg], mirror)


def _joined(first: Array, last: Array) -> tuple[Array, float]:
    """Two curves as one, and the length of the straight line that bridges them where they don't meet."""
    a, b = first[-1, 3], last[0, 0]
    apart = float(cubics.norm(b - a))
    if apart > _MEETS:
        return np.concatenate([first, cubics.lines([a, b]), last]), apart
    first[-1, 3] = last[0, 0] = 0.5 * (a + b)
    return np.concatenate([first, last]), 0.0
