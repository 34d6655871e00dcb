"""The files that were attached to entries, as pages: PDFs as they are, and pictures placed.

Each page carries the entry that it belongs to, the file's digest and the ledger's head. A file that cannot be read as
what it says it is breaks nothing: a page says so.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from PIL import Image, ImageOps
from pypdf import PageObject, PdfReader, PdfWriter, Transformation
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
from sqlalchemy import Connection

from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import Head, Version
from lotwalk.ledger.read.files import content, with_files
from lotwalk.pages.rows.reading import Reading
from lotwalk.pages.rows.versions import Period
from lotwalk.pages.sheet.frame import MARGIN
from lotwalk.pages.sheet.layout import plain
from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.pages.typeface.paper import Paper
from lotwalk.pages.typeface.wrap import wrap
from lotwalk.values.roles import MAKES
from lotwalk.values.times import show_when

PDF = "application/pdf"
_MOST_DOTS = 2_400
"""A picture is drawn with at most so many dots on a side: enough to read a paper by, and bounded in memory."""

_TITLE, _TEXT, _SMALL = 11.0, 8.5, 7.0
_STRIP = 33.0
_EVER = 1 << 60


@dataclass(frozen=True, slots=True)
class Attached:
    """One file of an entry. `about` says in words what it was attached to."""

    name: str
    media_type: str
    digest: str
    about: str

    @property
    def title(self) -> str:
        """What the contents and the bookmark call it."""
        return f"{self.name} ({self.about})"


def attached(state: Reading, period: Period) -> list[Attached]:
    """Return the files of the period's entries and of papers (certificates, labels) recorded before, each once."""
    start = period.start if period.start is not None else -_EVER
    end = period.end if period.end is not None else _EVER
    found: dict[str, Attached] = {}
    for version in with_files(state.connection, start, end):
        for file in files_of(version, state.kinds, state.settings.zone):
            found.setdefault(file.digest, file)
    return list(found.values())


def pages_of(connection: Connection, file: Attached, size: tuple[float, float]) -> Sequence[PageObject]:
    """Return the pages of a file, at least one; `size` is that of the paper that pictures and notes are drawn on."""
    raw = content(connection, file.digest)
    if raw is None:
        return _drawn(file, size, "It is missing from the ledger; run `lotwalk verify`.")
    if file.media_type == PDF:
        return _pdf(raw) or _drawn(file, size, "It cannot be read as a PDF. It is kept in the ledger as it was given.")
    why = "It cannot be read as a picture. It is kept in the ledger as it was given."
    return _drawn(file, size, why, _picture(raw))


def add_file(
    writer: PdfWriter, file: Attached, pages: Sequence[PageObject], start: int, total: int, head: Head
) -> None:
    """Add a file's pages as pages `start` and following of `total`, with a bookmark and a strip at each foot."""
    for number, page in enumerate(pages):
        added = writer.add_page(page)
        if number == 0:
            writer.add_outline_item(title=plain(file.title), page_number=start - 1)
        words = (
            f"Page {start + number} of {total}. Attached to {file.about}: {file.name}",
            f"The file's SHA-256: {file.digest}",
            f"Ledger head: size {head.size}, root {head.root.hex()}",
        )
        _put_strip(added, words)


def files_of(version: Version, kinds: Kinds, zone: ZoneInfo) -> list[Attached]:
    """Return the files of an entry."""
    when = show_when(version.start, version.end, zone)
    made = [use.code for use in version.uses if use.role in MAKES]
    about = ", ".join([version.name, " ".join([kinds[version.kind].title, *made[:1]]), when])
    return [Attached(file.name, file.media_type, file.digest, about) for file in version.files]


def _put_strip(page: PageObject, words: Sequence[str]) -> None:
    """Put a strip of words at the foot of a page, and what stood on the page above it, a little smaller.

    So nothing that stands at its lower edge is covered.
    """
    page.transfer_rotation_to_content()
    box = page.cropbox
    page.mediabox = box
    left, bottom, wide, high = (float(number) for number in (box.left, box.bottom, box.width, box.height))
    share = max(high - _STRIP, 1) / high
    smaller = Transformation().translate(-left, -bottom).scale(share)
    page.add_transformation(smaller.translate(left + wide * (1 - share) / 2, bottom + _STRIP))
    page.merge_transformed_page(_strip(words, (wide, high)), Transformation().translate(left, bottom))


def _strip(words: Sequence[str], size: tuple[float, float]) -> PageObject:
    out = io.BytesIO()
    canvas = _paper(out, size)
    fonts = load_fonts()
    canvas.setFont(fonts.regular, _SMALL)
    for number, line in enumerate(words, 1):
        shown = wrap(fonts.printable(line), size[0] - MARGIN, _SMALL)[:1]
        canvas.drawString(MARGIN / 2, _STRIP - number * _SMALL * 1.25, *shown or ("",))
    canvas.showPage()
    canvas.save()
    return PdfReader(out).pages[0]


def _pdf(raw: bytes) -> Sequence[PageObject]:
    """Return the pages of a PDF that somebody gave, without what in it could run; none where it cannot be read."""
    try:
        reader = PdfReader(io.BytesIO(raw))
        if reader.is_encrypted and not reader.decrypt(""):
            return ()
        pages = list(reader.pages)
        for page in pages:
            for key in ("/Annots", "/AA"):
                page.pop(key, None)
            page.get_contents()
            assert page.mediabox.width > 0
            assert page.mediabox.height > 0
    except Exception:  # a damaged file may fail in any way, and is then told on a page of its own
        return ()
    return pages


def _picture(raw: bytes) -> Image.Image | None:
    try:
        with Image.open(io.BytesIO(raw)) as opened:
            opened.draft("RGB", (_MOST_DOTS, _MOST_DOTS))
            upright = ImageOps.exif_transpose(opened)
            upright.thumbnail((_MOST_DOTS, _MOST_DOTS))
            return upright.convert("RGB")
    except Exception:  # as above: whatever a damaged picture does
        return None


def _drawn(
    file: Attached, size: tuple[float, float], why: str, picture: Image.Image | None = None
) -> Sequence[PageObject]:
    """Return a page with the file's name and a picture, or the reason why there is none."""
    out = io.BytesIO()
    canvas = _paper(out, size)
    fonts = load_fonts()
    top = size[1] - MARGIN
    width = size[0] - 2 * MARGIN
    for words, points, bold in ((file.name, _TITLE, True), (f"Attached to {file.about}", _TEXT, False)):
        canvas.setFont(fonts.bold if bold else fonts.regular, points)
        for line in wrap(fonts.printable(words), width, points, bold)[:3]:
            top -= points * 1.3
            canvas.drawString(MARGIN, top, line)
    if picture is None:
        canvas.setFont(fonts.regular, _TEXT)
        for line in wrap(fonts.printable(why), width, _TEXT):
            top -= _TEXT * 1.3
            canvas.drawString(MARGIN, top, line)
    else:
        room = top - 12 - MARGIN
        share = min(width / picture.width, room / picture.height)
        canvas.drawImage(
            ImageReader(picture),
            MARGIN,
            top - 12 - picture.height * share,
            picture.width * share,
            picture.height * share,
        )
    canvas.showPage()
    canvas.save()
    return list(PdfReader(out).pages)


def _paper(out: io.BytesIO, size: tuple[float, float]) -> Canvas:
    return Paper(out, pagesize=size, pageCompression=1, invariant=1, initialFontName=load_fonts().regular)
