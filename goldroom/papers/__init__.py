"""Papers: PDF and workbook, drawn from report objects and never from queries."""
