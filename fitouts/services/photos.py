"""Photos: read once, drawn anew as JPEG, so that nothing but the picture is kept."""

from __future__ import annotations

import io
import warnings
from typing import Any, BinaryIO

from django.core.files.base import ContentFile
from django.db import transaction
from django.utils.crypto import get_random_string
from django.utils.translation import gettext as _
from PIL import Image, ImageOps, UnidentifiedImageError

from fitouts.models import User, Vehicle, VehiclePhoto

MAX_BYTES = 10 * 1024 * 1024
MAX_PIXELS = {"JPEG": 60_000_000, "MPO": 60_000_000, "PNG": 24_000_000, "WEBP": 24_000_000}
"""By format. A JPEG (also one with a second view behind it, MPO) is read at a fraction of its size; the others are
held whole, at 4 bytes a pixel and more than once."""
PLAIN_MODES = ("L", "LA", "RGB", "RGBA", "CMYK", "YCbCr")
"""What can be made smaller as it is."""
LONGEST_SIDE = 2400
QUALITY = 85
MAX_PHOTOS = 60
"""Per vehicle."""
FORMATS = ("JPEG", "PNG", "WEBP")


class PhotoRefused(Exception):
    """A sentence that says why, and what to send instead."""


def redraw(source: BinaryIO) -> tuple[bytes, int, int]:
    """Return the picture as JPEG without any metadata, turned upright and made small enough, with width and height.

    Raises :class:`PhotoRefused` for what is no picture, or has more pixels than fit in memory safely.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        try:
            picture = Image.open(source, formats=FORMATS)
            _check_pixels(picture)
            flat = _on_white(ImageOps.exif_transpose(_small(picture)))
        except (Image.DecompressionBombError, Image.DecompressionBombWarning):
            raise _too_many_pixels(min(MAX_PIXELS.values())) from None
        except UnidentifiedImageError:
            raise PhotoRefused(_("This is not a photo. Send a JPEG, PNG or WebP file.")) from None
        except (OSError, ValueError, SyntaxError):
            raise PhotoRefused(_("The photo is damaged and cannot be read. Take or export it again.")) from None
    out = io.BytesIO()
    flat.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue(), flat.width, flat.height


def _too_many_pixels(limit: int) -> PhotoRefused:
    return PhotoRefused(
        _("The photo has more than {limit} million pixels. Make it smaller and send it again.").format(
            limit=limit // 1_000_000
        )
    )


def _check_pixels(picture: Image.Image) -> None:
    limit = MAX_PIXELS[picture.format or "PNG"]
    if picture.width * picture.height > limit:
        raise _too_many_pixels(limit)


def _small(picture: Image.Image) -> Image.Image:
    """Made small before anything else is done with it, so that the large one is held once."""
    if picture.mode not in PLAIN_MODES:
        picture = picture.convert("RGBA" if "transparency" in picture.info or picture.mode == "PA" else "RGB")
    picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)
    return picture


def _on_white(picture: Image.Image) -> Image.Image:
    if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
        clear = picture.convert("RGBA")
        white = Image.new("RGBA", clear.size, "white")
        return Image.alpha_composite(white, clear).convert("RGB")
    return picture.convert("RGB")


@transaction.atomic
def add_photo(vehicle: Vehicle, upload: Any, *, caption: str = "", by: User | None) -> VehiclePhoto:
    """Keep a photo of a vehicle. The name and the metadata of what was sent are dropped.

    Raises :class:`PhotoRefused`.
    """
    if upload.size > MAX_BYTES:
        raise PhotoRefused(too_large_words(upload.size))
    if vehicle.photos.count() >= MAX_PHOTOS:
        raise PhotoRefused(_("This vehicle has {limit} photos already. Remove one first.").format(limit=MAX_PHOTOS))
    jpeg, width, height = redraw(upload)
    photo = VehiclePhoto(vehicle=vehicle, caption=caption, width=width, height=height, added_by=by)
    photo.file.save(f"{vehicle.pk}-{get_random_string(20)}.jpg", ContentFile(jpeg), save=False)
    photo.full_clean()
    photo.save()
    return photo


def too_large_words(size: int | None = None) -> str:
    """Why a file was refused for its size."""
    limit = MAX_BYTES // (1024 * 1024)
    if size is None:
        return _("The file is larger than {limit} MB. Make the photo smaller and send it again.").format(limit=limit)
    return _("The file has {size} MB; at most {limit} MB. Make the photo smaller and send it again.").format(
        size=round(size / (1024 * 1024), 1), limit=limit
    )


@transaction.atomic
def remove_photo(photo: VehiclePhoto) -> None:
    """Remove a photo; its file goes when the row is gone for good."""
    storage, name = photo.file.storage, str(photo.file.name)
    photo.delete()
    transaction.on_commit(lambda: storage.delete(name))
