"""A workbook read by openpyxl, its formulas worked out anew in exact decimals."""

import ast
import io
import operator
import re
from decimal import Decimal

from openpyxl import load_workbook

CELL = re.compile(r"[A-Z]+[0-9]+")
WAYS = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
}


def read_book(content, **how):
    """Return the workbook, with formulas as formulas unless asked otherwise."""
    return load_workbook(io.BytesIO(content), **how)


def worked_out(page, at):
    """Return a cell's number, its formula worked out from the cells that it names."""
    found = page[at]
    if found.data_type == "n":
        assert found.value is not None, f"{at} is empty"
        return Decimal(repr(found.value))
    assert found.data_type == "f", f"{at} holds {found.value!r}"
    tree = ast.parse(CELL.sub(lambda m: f"cell_{m[0]}", found.value[1:]), mode="eval")
    return _of(page, tree.body)


def _of(page, node):
    if isinstance(node, ast.BinOp):
        return WAYS[type(node.op)](_of(page, node.left), _of(page, node.right))
    if isinstance(node, ast.Constant):
        return Decimal(repr(node.value))
    assert isinstance(node, ast.Name), ast.dump(node)
    return worked_out(page, node.id.removeprefix("cell_"))


def formulas(page):
    """Return where the sheet has formulas."""
    return [
        each.coordinate
        for row in page.iter_rows()
        for each in row
        if each.data_type == "f"
    ]


def row_of(page, *labels):
    """Return the number of the row that begins with these words."""
    (found,) = (
        row[0].row
        for row in page.iter_rows()
        if tuple(each.value for each in row[: len(labels)]) == labels
    )
    return found
