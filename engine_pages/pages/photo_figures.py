"""A photo with the words that belong to it, or an open frame that says why there is none.

In: a photo's story and its place on the shelf. Out: `PhotoFigure` for the templates.
"""

from engine_pages.history.story import PhotoStory, SheetRef
from engine_pages.pages.desk import Here
from engine_pages.pages.pieces import PhotoFigure
from engine_pages.pages.words import day_words, small


def photo_figure(
    here: Here,
    engine: str,
    sheet: SheetRef | None,
    photo: PhotoStory,
    *,
    left: str,
    right: str,
    strong: str = "",
    text: str = "",
) -> PhotoFigure:
    """The figure of one photo. `left`, `right`, `strong` stand under it, then what was written of it, else `text`."""
    shelved, why = here.shelved(engine, sheet, photo)
    caption = caption_words(photo, sheet, right)
    said = photo.caption or text
    if shelved is None:
        missing = (small(photo.slot_name), why)
        return PhotoFigure(None, None, 0, 0, caption, caption, left, right, strong, said, missing)
    return PhotoFigure(
        small=here.file(shelved.small),
        large=here.file(shelved.large),
        width=shelved.width,
        height=shelved.height,
        alt=caption,
        caption=caption,
        left=left,
        right=right,
        strong=strong,
        text=said,
    )


def caption_words(photo: PhotoStory, sheet: SheetRef | None, hours: str) -> str:
    """What a photo is called when it stands alone: place, view, date, hours, and what was written of it."""
    day = day_words(sheet.day) if sheet is not None else ""
    return ", ".join(words for words in (photo.slot_name, photo.view, day, hours, photo.caption) if words)
