"""Reads a PDF with pypdf: size of its pages in points, text page by page, what it says of itself."""

import json
import sys

from pypdf import PdfReader

reader = PdfReader(sys.argv[1])
root = reader.trailer["/Root"]
print(
    json.dumps(
        {
            "sizes": [[float(page.mediabox.width), float(page.mediabox.height)] for page in reader.pages],
            "pages": [page.extract_text() for page in reader.pages],
            "pictures": [len(page.images) for page in reader.pages],
            "title": reader.metadata.title,
            "language": root.get("/Lang"),
            "tagged": bool(root.get("/MarkInfo", {}).get("/Marked", False)),
        }
    )
)
