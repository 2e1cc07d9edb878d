import pytest

from shared.cut_drawing import TALLEST, WIDEST, draw_loaf, draw_slab
from shared.cuts import Block, loaf_by_number, slab_plan

LOAF = Block(250, 80, 60, 1200)
SLAB = Block(400, 300, 40, 4800)


def test_a_loaf_is_drawn_to_scale() -> None:
    drawing = draw_loaf(loaf_by_number(LOAF, 10), 80)
    assert drawing.width == pytest.approx(WIDEST)
    assert drawing.width / drawing.height == pytest.approx(250 / 80)


def test_a_wire_leaves_lines_without_width_between_the_bars() -> None:
    drawing = draw_loaf(loaf_by_number(LOAF, 10), 80)
    assert [cut.left for cut in drawing.cuts] == pytest.approx([32 * step for step in range(1, 10)])
    assert {cut.width for cut in drawing.cuts} == {0}
    assert {(cut.top, cut.height) for cut in drawing.cuts} == {(0, drawing.height)}
    assert (drawing.bars.left, drawing.bars.width) == pytest.approx((0, drawing.width))


def test_what_is_trimmed_off_lies_beside_the_bars() -> None:
    drawing = draw_loaf(loaf_by_number(LOAF, 10, trim_mm=10, kerf_mm=1), 80)
    scale = WIDEST / 250
    assert drawing.bars.left == pytest.approx(11 * scale)
    assert drawing.bars.width == pytest.approx(228 * scale)
    assert len(drawing.cuts) == 11
    assert drawing.cuts[0].width == pytest.approx(scale)


def test_one_bar_without_any_cut_is_the_whole_loaf() -> None:
    drawing = draw_loaf(loaf_by_number(LOAF, 1), 80)
    assert drawing.cuts == ()
    assert drawing.bars.width == drawing.width


def test_a_short_thick_piece_is_drawn_no_taller_than_there_is_room() -> None:
    drawing = draw_loaf(loaf_by_number(Block(40, 200, 200, 1500), 2), 200)
    assert drawing.height == pytest.approx(TALLEST)
    assert drawing.width == pytest.approx(TALLEST / 5)


def test_a_slab_is_cut_both_ways_from_edge_to_edge() -> None:
    drawing = draw_slab(slab_plan(SLAB, columns=5, rows=4, trim_mm=10))
    across = [cut for cut in drawing.cuts if cut.width == 0]
    along = [cut for cut in drawing.cuts if cut.height == 0]
    assert (len(across), len(along)) == (6, 5)
    assert {cut.height for cut in across} == {drawing.height}
    assert {cut.width for cut in along} == {drawing.width}
    scale = WIDEST / 400
    bars = drawing.bars
    assert (bars.left, bars.top) == pytest.approx((10 * scale, 10 * scale))
    assert (bars.width, bars.height) == pytest.approx((380 * scale, 280 * scale))
