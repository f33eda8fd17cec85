"""The review page: all versions side by side in one file, with sound, for a browser.

`compare` says measure by measure what differs from the first version, `timeline` when what
sounds, `drawings` makes the music ready for a page that holds many drawings, `letters` brings
the fonts, `markup` writes the HTML, and `page` puts all of it into one file. The files beside
them are the page's own: ``page.html``, ``page.css``, and the script in pieces.
"""

from variants.sheets.review.compare import Comparison, MeasureDifference, compare
from variants.sheets.review.page import ReviewPage, review_page

__all__ = ["Comparison", "MeasureDifference", "ReviewPage", "compare", "review_page"]
