"""Photographs: only the picture is kept, drawn anew, without where and by which device it was taken."""

from __future__ import annotations

import hashlib
import io
import warnings

from wearline.storage.shelf import Photo
from wearline.web.refusals import Refusal

__all__ = ["MAXIMUM_BYTES", "MAXIMUM_PIXELS", "clean_photo"]

MAXIMUM_BYTES = 12_000_000
MAXIMUM_PIXELS = 50_000_000
_LONGEST_EDGE = 2560
_FORMATS = ("JPEG", "PNG", "WEBP")
_ALLOWED = "a photograph as JPEG, PNG or WebP of at most 12 MB and 50 megapixels"


def clean_photo(content: bytes) -> Photo:
    """Return a photograph drawn anew, without anything that stood beside the picture.

    Parameters
    ----------
    content : bytes
        As it was sent.

    Returns
    -------
    Photo
        JPEG of at most 2560 px, the right way up.

    Raises
    ------
    Refusal
        If it is no photograph, too big, or a small file that unpacks to a huge picture.
    """
    from PIL import Image, ImageOps

    if len(content) > MAXIMUM_BYTES:
        raise Refusal(413, f"the photograph has {len(content)} bytes", where="photograph", allowed=_ALLOWED)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            with Image.open(io.BytesIO(content), formats=_FORMATS) as picture:
                width, height = picture.size
                if width * height > MAXIMUM_PIXELS or min(width, height) < 1:
                    raise Refusal(
                        413,
                        f"the photograph has {width} x {height} pixels",
                        where="photograph",
                        allowed=_ALLOWED,
                        cure="Take it with a smaller setting of the camera",
                    )
                # JPEG is decoded at the size that is needed, so that memory stays small
                picture.draft("RGB", (_LONGEST_EDGE, _LONGEST_EDGE))
                upright = ImageOps.exif_transpose(picture)
                upright.thumbnail((_LONGEST_EDGE, _LONGEST_EDGE))
                plain = Image.new("RGB", upright.size, "white")
                mask = upright.getchannel("A") if upright.mode in ("RGBA", "LA") else None
                plain.paste(upright.convert("RGB"), mask=mask)
    except Refusal:
        raise
    except (Image.DecompressionBombWarning, Image.DecompressionBombError):
        raise Refusal(
            413, "the photograph unpacks to a huge picture", where="photograph", allowed=_ALLOWED
        ) from None
    except Exception as error:
        # the library raises whatever its decoders meet in a damaged or hostile file
        raise Refusal(
            415,
            f"this is no photograph that can be read: {type(error).__name__}",
            where="photograph",
            allowed=_ALLOWED,
            cure="Take it again; drawings such as SVG are not taken",
        ) from None
    out = io.BytesIO()
    plain.save(out, "JPEG", quality=85, optimize=False)
    data = out.getvalue()
    return Photo(
        sha256=hashlib.sha256(data).hexdigest(),
        original_sha256=hashlib.sha256(content).hexdigest(),
        type="image/jpeg",
        width=plain.width,
        height=plain.height,
        content=data,
    )
