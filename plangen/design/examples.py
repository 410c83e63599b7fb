"""An example of every key of a design file, as it would be written. Each is read by a test."""

from __future__ import annotations

from functools import cache

from plangen.design import design as d
from plangen.design.examples_beside import BESIDE_EXAMPLES
from plangen.design.records import Entry

_EXAMPLES: dict[type[Entry], str] = {
    d.Design: """
        title: Garden bench
        units: in
        about: A bench for two, whose back leans.
        number: GB-03
        owner: Thistle Lane Garden Workshop
        drawn by: Workshop class
        approved by: Workshop steward
        date: 2026-11-25
        drawing: {sizes: 1/16, angles: 1/4 deg}
        let: {height: 30, splay: 14 deg}
        stock: {larch board: {ask for: 45 x 95 mm larch, thickness: 42 mm, width: 92 mm}}
        planes: {top: {level at: height}}
        lines: {top edge: {meet: [beam.top, beam.front]}}
        points: {toe: {on: leg.axis, meets: floor}}
        floor touches: [leg, post]
        members: {rail: {stock: 2x4 oak, length: 30, place: {length: right, face: up}}}
        bought: {hinge: {size: 3 in butt hinge, quantity: 2}}
        joints: [{half lap: [rail, leg], fit: snug}]
        fasteners: [{screw: "#8 x 1 1/4", through: gusset, into: leg}]
        assemblies: {frame: {of: [rail, stile], glue: exterior}}
        shop: workshop.yml
        templates: router.yml
        yard: mill-lane.yml
        roughing: {length: 1, spare: 6}
        climate: {driest: 35, dampest: 75}
        order: [housings in the beam, then the legs]
        finish: [two coats of raw oil]
        coats: [{finish: raw oil, coats: 2}]
        notes: [all arrises eased]
        cautions: [two people lift the beam]
        tools: [handsaw, bevel, chisel]
        critical: [{what: height over the floor, size: height}]
        measure first: [thickness of the plywood]
        keep: [offcuts of the tapers]
        revisions: [{letter: A, date: 2026-11-25, text: first issue}]
    """,
    d.Lean: """
        by: 14 deg
        toward: front
        going: down
        seen from: right
        measured: on the plane
    """,
    d.Turn: """
        by: 5 deg
        toward: rear
    """,
    d.ShiftedPlane: """
        shift: beam.left
        by: -inset
    """,
    d.LevelPlane: """
        level at: height - 3/4
        facing: down
    """,
    d.PlaneThroughPoints: """
        through points: [toe, heel, tip]
        facing: front
    """,
    d.PlaneThroughLine: """
        through line: {meet: [beam.bottom, beam.front]}
        lean: {by: 14 deg, toward: front, going: down, seen from: right}
        along: rear
        and line: leg mirrored.axis
        facing: left
    """,
    d.PlaneThroughPoint: """
        through point: [front width / 2, 0, 0]
        square to: right
        turned: {by: 5 deg, toward: rear}
        parallel to: rail wall
    """,
    d.HalfwayPlane: """
        halfway between: [rail.front, rail.rear]
        facing: front
    """,
    d.MeetingLine: """
        meet: [beam.top, beam.front]
        going: right
    """,
    d.LineFrom: """
        from: toe
        to: tip
        going: [1, 0, 1/8]
        in: leg wall
        lean: {by: 10 deg, toward: left, going: down, seen from: front}
        leans: [{by: 10 deg, toward: left, seen from: front}, {by: 14 deg, toward: front, seen from: right}]
    """,
    d.MeetingPoint: """
        meet: [leg wall, beam.top, beam.left]
    """,
    d.PointOnLine: """
        on: leg.axis
        meets: floor
        height: low + 1 1/4
        at: 3
        from: beam.left
    """,
    d.HalfwayPoint: """
        halfway between: [toe, heel]
    """,
    d.ShiftedPoint: """
        shift: toe
        right: 3
        left: 3
        front: 1/2
        rear: 1/2
        up: low
        down: 1
    """,
    d.MemberPoint: """
        of: rail
        from end A: 4
        from edge: 1 3/4
        from back: 0
    """,
    d.Relation: """
        against: rail wall
        flush with: {level at: height}
        at: centre plane
        along: leg line
        toward: up
        off: 1/16
    """,
    d.Placing: """
        length: right
        width: rear
        face: {flush with: {level at: height}}
        back: {against: leg wall}
        edge: {along: leg line}
        back edge: {flush with: rail.top}
        end A: {against: post.right}
        end B: {flush with: floor}
        middle: [centre plane, depth plane]
        corner: [0, 0, low]
        from: {on: leg front left.axis, height: low}
        to: {on: leg rear right.axis, height: low}
    """,
    d.Trim: """
        by: floor
        fit: on the work
        leave: 1
        when: shaped
    """,
    d.Taper: """
        on: back edge
        at end A: 3 1/2
        at end B: 2 1/2
    """,
    d.Curve: """
        on: back edge
        rise: 1 1/4
        bows: in
    """,
    d.Outline: """
        points: [[0, 0], [18, 0], [14, 7], [4, 7]]
        round: [0, 0, 1 1/2, 1 1/2]
        smooth: no
        mirrored: yes
    """,
    d.Opening: """
        slot: [4, 1 1/4]
        round: 1 1/2
        outline: {points: [[4, 2], [8, 2], [6, 5]]}
        at: [length / 2, 2]
        curved: 1/4
        when: shaped
    """,
    d.Repeat: """
        count: 7
        spacing: 2 3/4
        going: right
    """,
    d.Copies: """
        mirror: [left to right, front to back]
        turned: yes
        repeat: {count: 7, spacing: 2 3/4, going: right}
        around: {count: 6, about: {from: [0, 0, 0], going: up}}
    """,
    d.Around: """
        count: 6
        about: {from: [0, 0, 0], going: up}
    """,
    d.BoredHole: """
        diameter: 3/4
        in: face
        at: [3, 1 1/2]
        depth: 1 1/4
        going: down
        counterbore: {diameter: 1 1/4, depth: 3/8}
        countersink: 1
        spot face: 1 1/4
        half round: yes
        purpose: for a rope
        when: shaped
    """,
    d.EdgeWork: """
        round over: 1/4
        chamfer: 1/8
        arrises: [[face, edge], [back, edge]]
        from end A: 2
        from end B: 2
        when: glued
    """,
    d.Member: """
        like: leg
        stock: 2x4 douglas fir
        thickness: 1 1/4
        width: 3
        length: long
        diameter: 1
        turned: [[0, 1 1/4], [10, 1 3/4], [16, 1]]
        place: {back: {against: leg wall}, edge: {along: leg line}}
        trim: {upper end: beam.top, lower end: {by: floor, fit: on the work, leave: 1}}
        taper: {at end A: 3 1/2, at end B: 2 1/2}
        curve: {rise: 1 1/4, bows: in}
        outline: {points: [[0, 0], [18, 0], [14, 7], [4, 7]]}
        openings: [{slot: [4, 1 1/4], at: [9, 2]}]
        holes: [{diameter: 3/4, in: face, at: [3, 1 1/2]}]
        edge work: [{chamfer: 1/8}]
        copies: {mirror: [left to right, front to back]}
        grain: width
        role: jig
        boards: 3
        hung on: hinge stile
        removable: up
        removed with: [bracket]
        undone: [screws]
        clear: 1/32
        finish: left raw
        notes: [choose straight grain]
        only if: sides = 6
    """,
    d.Bought: """
        size: 8 in wheel, 1/2 in bore
        box: [3, 1 1/2, 1/8]
        round: [1 3/4, 8]
        bent: [[0, 0, 0], [0, 4, 0], [0, 4, 3]]
        bar: [1, 1/8]
        inside radius: 3/16
        k factor: 0.42
        place: {length: right, face: up, corner: [0, 0, 4]}
        copies: {mirror: left to right}
        quantity: 2
        use: hangs the gate
        removed with: [door]
        only if: sides = 6
    """,
    d.Joint: """
        name: top joint
        floor: second
        over: first
        depth: 3/8
        thickness: 1/2
        width: 2 1/2
        length: 1 1/2
        set back: 3/8
        from edge: 1/2
        finger: 3/4
        tails: 4
        slope: 1 in 8
        lap: 3/16
        nib: 1/2
        haunch: 3/8
        haunch width: 1
        shoulder: scribed
        spline: 1/8
        spline width: 3/4
        diameter: 3/8
        included: 6 deg
        proud: 1/8
        wedges: 2
        bored from: top
        peg: 3/8
        pegs: 2
        drawbore: 1/16
        count: 3
        inset: 1
        short: 3/4
        short of: front
        fit: snug
        allowance: 1/64
        gap: 1/16
        stopped: yes
        sprung: yes
        after: top joint
        when: square
        only if: sides = 6
    """,
    d.Counterbore: """
        diameter: 3/4
        depth: 1/4
    """,
    d.Fastener: """
        through: [stretcher, stretcher mirrored]
        into: leg
        from: top
        going: down
        count: 2
        row: across
        inset: 7/8
        at: [[2, 1 3/4], [8, 1 3/4]]
        counterbore: {diameter: 3/4, depth: 1/4}
        nut counterbore: {diameter: 3/4, depth: 1/4}
        spot face: 1
        countersink: 3/8
        when: assembled
        only if: sides = 6
    """,
    d.AssemblyCut: """
        rebate: [rail.inner, stile.inner]
        sunk from: rail.top
        width: 1/2
        depth: 3/8
        corners: 3/8
        trim: {level at: 30}
        of: [rail]
        when: glued
        note: with a rebating cutter, in three passes
    """,
    d.Assembly: """
        of: [rail, stile]
        cuts: [{rebate: [rail.inner, stile.inner], sunk from: rail.top, width: 1/2, depth: 3/8}]
        only if: sides = 6
        glue: exterior wood glue
        notes: [check that the diagonals are equal]
    """,
    d.Drawing: """
        paper: A4
        large paper: yes
        projection: first
        sizes: 1/16
        angles: 1/4 deg
        both units: yes
        hidden lines: yes
        stages: [square, glued]
    """,
    d.Critical: """
        what: height over the floor
        size: height
    """,
    d.Revision: """
        letter: A
        date: 2026-11-25
        text: first issue
    """,
    d.Stock: """
        ask for: 45 x 95 mm larch, planed
        species: larch
        thickness: 42 mm
        width: 92 mm
        sheet: [96, 48]
    """,
    **BESIDE_EXAMPLES,
}


@cache
def examples_of(record: type[Entry]) -> dict[str, str]:
    """Key and example value, as YAML in one line, for every key of a record."""
    lines = [line.strip() for line in _EXAMPLES.get(record, "").strip().split("\n")]
    return {key: value for key, _, value in (line.partition(": ") for line in lines) if key}


def exemplified() -> tuple[type[Entry], ...]:
    """The records that have examples, in the order of the reference page."""
    return tuple(_EXAMPLES)
