"""What the reference page tells of each kind of joint: a paragraph and an entry as it would be written."""

from __future__ import annotations

from typing import NamedTuple


class Told(NamedTuple):
    """A kind of joint in words; ``entry`` is its line under ``joints``."""

    paragraph: str
    entry: str


JOINTS_TOLD: dict[str, Told] = {
    "butt": Told(
        "Nothing is cut: the faces lie against one another, and that they really do is checked on the finished "
        "work. Glue on end grain holds little, so a butt is screwed, bolted, dowelled or given loose tenons.",
        "{butt: [strut, rail]}",
    ),
    "half lap": Told(
        "Each member gives up part of its thickness where they cross, so that both lie in one plane. The walls are "
        "the other member's sides as it really stands, so a leaning or tapering mate gets walls that lean and taper. "
        "The floor is one plane a saw can make: parallel to the second's face unless `floor` says otherwise, at half "
        "of the shared wood; a note tells when the other floor would leave the walls nearer to square.",
        "{half lap: [strut, rail], floor: second}",
    ),
    "corner lap": Told("A half lap where both members end.", "{corner lap: [rail, post]}"),
    "tee lap": Told("A half lap where the first ends on the second.", "{tee lap: [rail, post]}"),
    "cross lap": Told(
        "A half lap where both members run on. With `floor: level` the floor is level whatever crosses; `over` says "
        "which member passes on the viewer's side.",
        "{cross lap: [brace, brace mirrored], over: first}",
    ),
    "dovetail lap": Told(
        "A half lap whose end widens from the shoulder like a dove's tail, so that it cannot be drawn out along its "
        "length. The tail is as wide as its member where it reaches deepest; `slope` is that of its sides on the "
        "face, 1 in 7 unless said.",
        "{dovetail lap: [rail, post], slope: 1 in 7}",
    ),
    "edge lap": Told(
        "Two members cross on edge and each is slotted for the other from opposite edges, half way unless `depth` "
        "says how deep the second's slot is; `over` says which is slotted from below. The slots' walls are the "
        "other's faces as it stands, the floor runs along the second's edge.",
        "{edge lap: [divider, long divider]}",
    ),
    "housing": Told(
        "The first is let whole into a trench of the second; where it leaves the second's side the trench runs out. "
        "A usual depth is a quarter of the thickness, at most a third.",
        "{housing: [shelf, side]}",
    ),
    "stopped housing": Told(
        "A housing that does not reach one side of the second: it ends `short` of the side it is `short of`, the front "
        "unless another is said, and the "
        "first is notched there, so that its edge covers the end of the trench.",
        "{stopped housing: [shelf, side], short: 3/4, short of: front}",
    ),
    "sliding dovetail": Told(
        "A dovetailed end of the first slides along a dovetailed housing of the second, so that the sides cannot "
        "spread. `thickness` is the neck, three quarters of the first unless said; `depth` a third of the second, or "
        "where the first ends. `short` stops it before one side, as in a stopped housing; it slides in from the other.",
        "{sliding dovetail: [shelf, side], depth: 3/8, slope: 1 in 7}",
    ),
    "notch": Told(
        "The second is cut out for the first, which stays whole: the stouter piece takes the slope. Depth, floor and "
        "walls follow from where the first stands.",
        "{notch: [brace, leg]}",
    ),
    "birdsmouth": Told(
        "The second, a rafter, is cut to sit on the first, a plate: a seat on its top and a heel against its outer "
        "face, however skew or beveled the plate is. How deep follows from where the rafter lies; it should leave two "
        "thirds of the rafter's depth.",
        "{birdsmouth: [plate, rafter]}",
    ),
    "rebate": Told(
        "The edge of the second is cut away for the first. The cut runs the second's whole length unless it is "
        "`stopped` where the first ends.",
        "{rebate: [panel, rail]}",
    ),
    "groove": Told(
        "The edge of the first, or a tongue on it of a stated `thickness`, lies in a groove of the second. The groove "
        "runs through unless it is `stopped`; `gap` leaves room for swelling.",
        "{groove: [bottom, side]}",
    ),
    "edge glue": Told(
        "Two boards glued edge to edge; nothing is cut, and that the edges meet over their length is checked.",
        "{edge glue: [board, board]}",
    ),
    "tongue and groove": Told(
        "Boarding: each board's edge has a tongue in a groove of the next. The boards are placed so that they overlap "
        "by the tongue's length; it is a third of the thickness, in the middle, and each joint is left open by a "
        "sixtieth of the board's width unless `gap` says otherwise, so that the boards can swell. One entry serves a "
        "whole run of copies.",
        "{tongue and groove: [board, board]}",
    ),
    "mortise and tenon": Told(
        "A tenon on the first in a mortise of the second. The first is trimmed by the face it enters by, which is its "
        "shoulder whatever the angle; cheeks are parallel to its own faces. Unless it is said otherwise the tenon is a "
        "third of the thickness, at most six times as wide as thick, and goes two thirds into the second; `proud` "
        "takes it through, `proud: 0` flush with the far face. `count` sets several side by side. A `haunch` lies on "
        "the side of the second's nearer end. `wedges` spread a through tenon against end grain, never against the "
        "second's sides; with `drawbore` the tenon's peg hole lies nearer the shoulder. On a round or curved mate the "
        "shoulder is scribed, or `flat`.",
        "{mortise and tenon: [rail, stile], length: 2, peg: 3/8, drawbore: 1/16}",
    ),
    "bridle": Told(
        "An open mortise and tenon: the second's end straddles the first, at a corner or where the first runs on. The "
        "tenon is the middle third of the first unless `thickness` and `set back` say otherwise; it may be pegged.",
        "{bridle: [rail, post]}",
    ),
    "loose tenon": Told(
        "Mortises of the same size in two members that butt, and separate tenons in them, which come out as members "
        "of their own. They stand square to the faces that meet, in the middle of the area they share and along its "
        "long way, a third as thick as it, and go `depth` into either.",
        "{loose tenon: [rail, stile], thickness: 3/8, width: 1 1/2, depth: 1}",
    ),
    "dowel": Told(
        "Dowels in holes of two members that butt, in a row the long way of the area they share and square to it. They "
        "go `depth` into either; the holes are 1/16 in deeper. Unless it is said they are of the rod nearest to 2/5 of "
        "the thickness, two and a half diameters deep where the wood allows.",
        "{dowel: [rail, stile], diameter: 3/8, count: 2, depth: 1}",
    ),
    "round tenon": Told(
        "A round tenon on the end of the first in a socket bored along its axis into the second, at any angle. The "
        "shoulder is square to the axis where it first touches, or `scribed`; a first no thicker than the tenon goes "
        "in whole. A blind socket is bored 1/16 in deeper. Through tenons are wedged across the other's grain.",
        "{round tenon: [stretcher, leg], diameter: 5/8, length: 1 1/8}",
    ),
    "taper tenon": Told(
        "A tapering round tenon in a reamed socket: `diameter` is at the small end, `included` the angle from side "
        "to side. How deep it is reamed sets how far the tenon comes through, so that is a place to stop at and no "
        "size. The wedge goes across the second's grain, or it would split it.",
        "{taper tenon: [leg, seat], diameter: 1, included: 6 deg, proud: 1/8, wedges: 1}",
    ),
    "mitre": Told(
        "Both members run on to the outer corner, or past it, and are cut by the plane from their inner to their outer "
        "corner: a frame's mitre, the edge mitre of a box, the compound mitre of sides that slope, the bevelled edges "
        "of coopered work with any number of sides. `spline` is the thickness of a loose tongue across the joint, a "
        "member of its own, its grain across; `spline width` reaches half into each.",
        "{mitre: [side, side], spline: 1/8}",
    ),
    "finger joint": Told(
        "An odd number of equal fingers across the corner of two panels, about twice as wide as the panel is thick "
        "unless `finger` says otherwise.",
        "{finger joint: [front, side], finger: 3/4}",
    ),
    "through dovetail": Told(
        "Tails on the first between pins on the second, with half pins at both edges; the sides are the same planes "
        "in both. Unless they are said, a tail and a pin take two and a half thicknesses and slope 1 in 7. On boards "
        "that slope or flare both are laid out along the grain: each tail is alike about a line along the first's "
        "length, and all sides run along the second's, so that there is no short grain and the corner slides home. "
        "Both boards run to the other's outer face.",
        "{through dovetail: [side, front], tails: 4, slope: 1 in 7}",
    ),
    "half-blind dovetail": Told(
        "Tails that stop before the second's outer face: `lap` is the wood left in front of them, a quarter of the "
        "thickness unless it is said, or what is left where the first ends. Laid out like through dovetails.",
        "{half-blind dovetail: [side, front], tails: 3, lap: 3/16}",
    ),
    "scarf": Told(
        "Two members in line made into one longer one over a slope through the first's thickness, 1 in 8 unless said, "
        "through the middle of the length they share. `nib` squares off its thin ends; `over` says which keeps the "
        "upper side.",
        "{scarf: [beam, long beam], slope: 1 in 8, nib: 1/2}",
    ),
    "half-round seat": Told(
        "A rod or axle lies in the surface of the second, in a seat bored half into the wood with a block clamped on.",
        "{half-round seat: [axle, beam]}",
    ),
}
