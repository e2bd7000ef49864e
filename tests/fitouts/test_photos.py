"""Photos: what comes in, what is kept, who sees it."""

from __future__ import annotations

import io
import struct
import zlib
from contextlib import closing

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from fitouts.models import VehiclePhoto
from fitouts.services import photos


def picture(size=(640, 480), kind="JPEG", mode="RGB", **options) -> bytes:
    out = io.BytesIO()
    Image.new(mode, size, "olive" if mode == "RGB" else None).save(out, kind, **options)
    return out.getvalue()


def bomb(width: int, height: int) -> bytes:
    """A PNG whose head promises more pixels than its few bytes could ever justify. ISO/IEC 15948."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")
    )


def upload(data: bytes, name: str = "p.jpg") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, data, content_type="image/jpeg")


def test_metadata_goes_and_the_picture_stands_upright():
    told = Image.Exif()
    told[0x010F] = "Quoin"  # maker of the camera
    told[0x0112] = 6  # lying on its right side
    told[0x8825] = {1: "S", 2: (34.0, 55.0, 0.0)}  # where it was taken

    jpeg, width, height = photos.redraw(io.BytesIO(picture(exif=told)))

    kept = Image.open(io.BytesIO(jpeg))
    assert (kept.format, kept.size, (width, height)) == ("JPEG", (480, 640), (480, 640))
    assert dict(kept.getexif()) == {}
    assert b"Quoin" not in jpeg


def test_large_picture_is_made_smaller():
    _jpeg, width, height = photos.redraw(io.BytesIO(picture((4800, 1200))))

    assert (width, height) == (2400, 600)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "PA", "RGB", "RGBA", "CMYK", "I;16"])
def test_picture_of_any_colours_is_taken(mode):
    kind = {"CMYK": "JPEG"}.get(mode, "PNG")
    data = io.BytesIO()
    Image.new("RGBA" if mode == "PA" else mode, (5000, 40)).save(data, kind)

    jpeg, width, height = photos.redraw(io.BytesIO(data.getvalue()))

    assert (Image.open(io.BytesIO(jpeg)).mode, width, height) == ("RGB", 2400, 19)


def test_two_views_in_one_file_leave_the_first():
    data = io.BytesIO()
    first, second = Image.new("RGB", (60, 40), "olive"), Image.new("RGB", (60, 40), "navy")
    first.save(data, "MPO", save_all=True, append_images=[second])

    jpeg, width, height = photos.redraw(io.BytesIO(data.getvalue()))

    assert (Image.open(io.BytesIO(jpeg)).format, width, height) == ("JPEG", 60, 40)


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_transparent_picture_stands_on_white(kind):
    jpeg, _width, _height = photos.redraw(io.BytesIO(picture((20, 20), kind, "RGBA")))

    assert Image.open(io.BytesIO(jpeg)).getpixel((10, 10)) == (255, 255, 255)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (bomb(9_000, 9_000), "more than 24 million pixels"),  # 81 million: under the library's own alarm
        (bomb(10_000, 10_000), "more than 24 million pixels"),  # its warning
        (bomb(30_000, 30_000), "more than 24 million pixels"),  # its error
        (b"<svg onload=alert(1)>", "This is not a photo"),
        (b"", "This is not a photo"),
        (b"GIF89a" + b"\0" * 40, "This is not a photo"),
        (picture()[:2000], "damaged"),
        (bomb(100, 100), "damaged"),
    ],
)
def test_what_is_no_photo_is_refused(data, words):
    with pytest.raises(photos.PhotoRefused, match=words):
        photos.redraw(io.BytesIO(data))


def test_photo_is_kept_under_a_name_of_our_own(files, as_technician, vehicle, technician):
    response = as_technician.post(
        reverse("photo_add", args=[vehicle.pk]),
        {"photo": upload(picture(), "../../etc/passwd.jpg"), "caption": "Engine bay"},
    )

    kept = VehiclePhoto.objects.get()
    assert response.headers["Location"] == f"/vehicles/{vehicle.pk}/#photos"
    assert (kept.caption, kept.width, kept.height, kept.added_by) == ("Engine bay", 640, 480, technician)
    assert kept.file.name.startswith(f"photos/{vehicle.pk}-")
    assert "passwd" not in kept.file.name


def test_huge_upload_is_refused_in_words(files, as_technician, vehicle):
    response = as_technician.post(
        reverse("photo_add", args=[vehicle.pk]), {"photo": upload(b"\xff" * (photos.MAX_BYTES + 1))}
    )

    assert response.status_code == 422
    assert "The file is larger than 10 MB. Make the photo smaller and send it again." in response.content.decode()
    assert VehiclePhoto.objects.count() == 0
    assert not files.exists()


def test_refused_photo_leaves_nothing(files, as_technician, vehicle):
    response = as_technician.post(reverse("photo_add", args=[vehicle.pk]), {"photo": upload(b"not a photo")})

    assert "This is not a photo. Send a JPEG, PNG or WebP file." in response.content.decode()
    assert VehiclePhoto.objects.count() == 0
    assert not files.exists()


def test_photo_is_shown_to_people_of_the_workshop_only(files, client, as_technician, vehicle, technician):
    kept = photos.add_photo(vehicle, upload(picture()), by=technician)
    url = reverse("photo", args=[kept.pk])

    shown = as_technician.get(url)

    assert b"".join(shown.streaming_content)[:3] == b"\xff\xd8\xff"
    assert (shown.headers["Content-Type"], shown.headers["X-Content-Type-Options"]) == ("image/jpeg", "nosniff")
    shown.close()
    assert client.get(url).headers["Location"] == f"/sign-in/?next={url}"


def test_removed_photo_takes_its_file_along(
    files, as_technician, vehicle, technician, django_capture_on_commit_callbacks
):
    kept = photos.add_photo(vehicle, upload(picture()), by=technician)
    path = files / kept.file.name
    assert path.exists()

    with django_capture_on_commit_callbacks(execute=True):
        as_technician.post(reverse("photo_remove", args=[kept.pk]))

    assert not path.exists()
    assert VehiclePhoto.objects.count() == 0


def test_vehicle_has_a_limit_of_photos(files, vehicle, technician, monkeypatch):
    monkeypatch.setattr(photos, "MAX_PHOTOS", 1)
    photos.add_photo(vehicle, upload(picture()), by=technician)

    with pytest.raises(photos.PhotoRefused, match="This vehicle has 1 photos already"):
        photos.add_photo(vehicle, upload(picture()), by=technician)


def test_many_files_of_a_request_are_counted_together(rf):
    """Nobody needs to be signed in to send files; they must not fill the disk."""
    parts = {f"f{n}": SimpleUploadedFile("a.bin", b"\0" * (photos.MAX_BYTES // 2 - 10)) for n in range(5)}

    with closing(rf.post("/sign-in/", parts)) as request:
        assert sum(file.size for file in request.FILES.values()) <= photos.MAX_BYTES
        assert request.file_too_large
