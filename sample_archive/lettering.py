"""Words as ink: how much of each small square they cover. The letters are those Pillow brings."""

from __future__ import annotations

from functools import lru_cache

import numpy as np


@lru_cache(maxsize=256)
def letters(words: str, size: int, wide: float | None = None) -> np.ndarray:
    """
    Return the ink of a line of words as values 0..1, ``size`` rows high.

    ``wide`` is the width wanted for each unit of height; words too long for it are squeezed in.
    """
    from PIL import Image, ImageDraw, ImageFont

    font = ImageFont.load_default(size * 2)
    left, top, right, bottom = (round(edge) for edge in font.getbbox(words))
    picture = Image.new("L", (right - left + 4, bottom - top + 4), 0)
    ImageDraw.Draw(picture).text((2 - left, 2 - top), words, fill=255, font=font)
    scale = size / picture.height
    width = max(1, round(picture.width * scale))
    picture = picture.resize((width, size), Image.Resampling.LANCZOS)
    if wide is not None:
        room = max(1, round(size * wide))
        if width > room:
            picture = picture.resize((room, size), Image.Resampling.LANCZOS)
        else:
            centred = Image.new("L", (room, size), 0)
            centred.paste(picture, ((room - width) // 2, 0))
            picture = centred
    return np.asarray(picture, np.float32) / 255
