"""Drawings kept by the report they show."""

from goldroom.web.drawings import Drawings


class Report:
    """Stands for a report; equal to any other, which must not matter."""

    def __eq__(self, other):
        return True

    def __hash__(self):
        return 0


def test_a_report_is_drawn_once_and_another_anew():
    drawn = []

    def draw(report):
        drawn.append(report)
        return len(drawn)

    kept, one, other = Drawings(), Report(), Report()
    assert [kept.of(one, "a", draw), kept.of(one, "a", draw)] == [1, 1]
    assert kept.of(one, "b", draw) == 2
    assert kept.of(other, "a", draw) == 3


def test_the_oldest_is_forgotten():
    kept, reports = Drawings(most=2), [Report() for _ in range(3)]
    counts = [kept.of(each, "a", lambda _: object()) for each in reports]
    assert kept.of(reports[2], "a", lambda _: object()) is counts[2]
    assert kept.of(reports[0], "a", lambda _: object()) is not counts[0]
