"""Sheets as data: which leaf lies where on which side, as the finished PDF page shows it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.base.geometry import Rect
from pipeline.impose.leaf import LeafGeometry
from pipeline.impose.pose import Pose
from pipeline.impose.printer import Flip, PrinterSettings
from pipeline.impose.stacks import Stack
from pipeline.plan.model import Paper, Side


@dataclass(frozen=True)
class Placement:
    """One face of a leaf on a sheet side: ``leaf`` counts from 0, rectangles in mm."""

    leaf: int
    face: Side
    pose: Pose
    trim: Rect

    @property
    def flat(self) -> Rect:
        """The opened leaf on the sheet."""
        return self.pose.covers

    @property
    def turned(self) -> int:
        """Degrees clockwise the page is turned on the sheet."""
        return self.pose.turned


@dataclass(frozen=True)
class Sheet:
    """A sheet of paper: its number from 1, its size in mm, what lies on either side.

    ``stack`` counts from 0 the run of sheets that are cut together.
    """

    number: int
    stack: int
    width_mm: float
    height_mm: float
    side_1: tuple[Placement, ...]
    side_2: tuple[Placement, ...]


def sheets_of(
    stacks: Sequence[Stack],
    geometries: Sequence[LeafGeometry],
    paper: Paper,
    printer: PrinterSettings,
) -> tuple[Sheet, ...]:
    """The sheets of all stacks in printing order; ``geometries`` has one entry a leaf."""
    sheets: list[Sheet] = []
    for stack_number, stack in enumerate(stacks):
        for index in range(stack.sheets):
            front, back = [], []
            for pile, pose in enumerate(stack.layout.poses):
                leaf = stack.leaf(index, pile)
                if leaf is None:
                    continue
                geometry = geometries[leaf]
                front.append(_placement(leaf, Side.RECTO, pose, geometry))
                behind = back_pose(pose, paper, printer)
                back.append(_placement(leaf, Side.VERSO, behind, geometry))
            sheets.append(
                Sheet(
                    number=len(sheets) + 1,
                    stack=stack_number,
                    width_mm=paper.width_mm,
                    height_mm=paper.height_mm,
                    side_1=tuple(front),
                    side_2=tuple(back),
                )
            )
    return tuple(sheets)


def back_pose(pose: Pose, paper: Paper, printer: PrinterSettings) -> Pose:
    """Where side 2 must show a leaf that lies at ``pose`` on side 1.

    At S − x₀ − width for a flip on the long edge; for one on the short edge the whole side is
    turned by 180 degrees as well. The printer's own shift is made up for.

    >>> pose = Pose(10, 40, 190, 210)
    >>> a4 = Paper("a4", "A4", 210, 297, "iso_a4_210x297mm", "ISO 216")
    >>> back_pose(pose, a4, PrinterSettings()).x
    10
    """
    behind = pose.behind(paper.width_mm)
    if printer.flip is Flip.SHORT:
        behind = behind.upside_down(paper.width_mm, paper.height_mm)
    dx, dy = printer.back_shift_mm
    return behind.moved(-dx, -dy) if dx or dy else behind


def _placement(leaf: int, face: Side, pose: Pose, geometry: LeafGeometry) -> Placement:
    return Placement(leaf, face, pose, pose.rect(geometry.face(face).trim))
