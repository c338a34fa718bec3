"""A paper's figures as a JSON file inside the PDF (ISO 32000-2, 7.11.4 and 14.13)."""

import json
from typing import Any

from reportlab.pdfbase.pdfdoc import (
    PDFArray,
    PDFDictionary,
    PDFDocument,
    PDFName,
    PDFObjectReference,
    PDFStream,
    PDFString,
)

from goldroom.reports.plain import as_plain

FILE_NAME = "figures.json"


def figures_json(report: Any) -> bytes:
    """Return a report as JSON in UTF-8: figures as text, never binary floats."""
    return json.dumps(as_plain(report), ensure_ascii=False, indent=1).encode()


def attach(document: PDFDocument, content: bytes) -> None:
    """Put one JSON file into the document and name it in the catalogue."""
    stream = PDFStream(
        dictionary=PDFDictionary(
            {
                "Type": PDFName("EmbeddedFile"),
                # As it stands in the file: PDFName would leave a stroke as it is.
                "Subtype": "/application#2Fjson",
                "Params": PDFDictionary({"Size": len(content)}),
            }
        ),
        content=content,
        filters=[],
    )
    specification = document.Reference(
        PDFDictionary(
            {
                "Type": PDFName("Filespec"),
                "F": PDFString(FILE_NAME),
                "UF": PDFString(FILE_NAME),
                "Desc": PDFString("The figures of this paper"),
                "AFRelationship": PDFName("Data"),
                "EF": PDFDictionary({"F": document.Reference(stream)}),
            }
        )
    )
    assert isinstance(specification, PDFObjectReference)
    catalogue = document.Catalog
    catalogue.Names = PDFDictionary(
        {
            "EmbeddedFiles": PDFDictionary(
                {"Names": PDFArray([PDFString(FILE_NAME), specification])}
            )
        }
    )
    catalogue.AF = PDFArray([specification])
    catalogue.__NoDefault__ = [*catalogue.__NoDefault__, "AF"]
