"""Sets the pages of a folder with WeasyPrint and compares: papers_peer.py FOLDER OUR_MILLISECONDS.

The pages carry what our reports carry: the same texts in the same places, the pictures, the square code,
our typeface, a foot that counts sheets; and the file is tagged (PDF/UA-1). Ours is archival beside that
(PDF/A-2a), so the other way has a little less to do.
"""
import logging
import pathlib
import statistics
import sys
import time

import weasyprint
from weasyprint.text.fonts import FontConfiguration

logging.getLogger("weasyprint").setLevel(logging.ERROR)
pages = sorted(pathlib.Path(sys.argv[1]).glob("*.html"))
ours = float(sys.argv[2])
fonts = FontConfiguration()
taken = []
for page in pages:
    begun = time.perf_counter()
    weasyprint.HTML(filename=str(page)).write_pdf(font_config=fonts, pdf_variant="pdf/ua-1")
    taken.append((time.perf_counter() - begun) * 1000)
# The first pays for what is loaded once.
theirs = statistics.median(taken[1:])
print(f"WeasyPrint {weasyprint.__version__}, warm: {theirs:.1f} ms median of {len(taken) - 1}")
print(f"ratio: {theirs / ours:.1f} times as long as ours (wanted: at least 5)")
