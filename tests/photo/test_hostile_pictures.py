"""Broken, huge and hostile pictures: refused soon, with a sentence; tags of place and camera never kept."""

from __future__ import annotations

import io
import struct
import sys
import time
import zlib
from pathlib import Path

import numpy as np
import pytest
from patterns_known import known_patterns
from PIL import Image
from rendering import Look, photograph, scene_of

from diagnose import casebook
from diagnose.cli.running import run
from diagnose.errors import FitError
from diagnose.pattern.brought.photo.photographs import read_photos
from diagnose.pattern.brought.photo.pixels import MOST_PIXELS, open_photo

SOON_S = 5.0


@pytest.fixture(scope="module")
def sound() -> bytes:
    scene = scene_of(known_patterns()["underarm-panels"](), 3)
    return photograph(scene, Look(megapixels=3.0, tilt_deg=8.0, seed=2))[0]


def _png(wide: int, high: int, data: bytes = b"") -> bytes:
    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", wide, high, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(data)) + chunk(b"IEND", b"")


def _picture(size: tuple[int, int], form: str = "PNG") -> bytes:
    stream = io.BytesIO()
    Image.new("RGB", size, (200, 190, 180)).save(stream, form)
    return stream.getvalue()


HOSTILE = {
    "empty": b"", "words": b"not a picture", "zeros": bytes(5000), "half a head": b"\xff\xd8\xff\xe0\x00",
    "bomb": _png(60000, 60000, bytes(1000)), "wide bomb": _png(2_000_000_000, 1), "short data": _png(2000, 2000, b"x"),
    "small": _picture((300, 300)), "plain": _picture((900, 900)), "plain jpeg": _picture((900, 900), "JPEG"),
    "a gif": _picture((900, 900), "GIF"), "a dot": _picture((1, 1)), "a thread": _picture((50_000, 1)),
    "half a png": _picture((900, 900))[:-200], "half a jpeg": _picture((900, 900), "JPEG")[:-400],
}  # fmt: skip


@pytest.mark.parametrize("kind", HOSTILE)
def test_what_is_no_photograph_is_refused_soon(kind: str) -> None:
    begun = time.process_time()
    with pytest.raises(FitError) as caught:
        read_photos([(HOSTILE[kind], "x.jpg")])
    assert time.process_time() - begun < SOON_S
    assert caught.value.mistakes[0].remedy


def test_pictures_cut_and_bent_anywhere_raise_nothing_else(sound: bytes) -> None:
    rng = np.random.default_rng(7)
    for n in range(40):
        data = bytearray(sound[: int(rng.integers(2, len(sound)))] if n % 2 else sound)
        for at in rng.integers(0, min(len(data), 4000), 6):
            data[at] = int(rng.integers(256))
        try:
            pixels = open_photo(bytes(data), "x.jpg")
        except FitError:
            continue
        assert pixels.size <= 3 * MOST_PIXELS


HELD = (None, Image.FLIP_LEFT_RIGHT, Image.ROTATE_180, Image.FLIP_TOP_BOTTOM, Image.TRANSPOSE, Image.ROTATE_90,
        Image.TRANSVERSE, Image.ROTATE_270)  # fmt: skip
"""By orientation tag, from 1, how a picture lies that bears it."""


@pytest.mark.parametrize("form", ["PNG", "JPEG"])
@pytest.mark.parametrize("tag", range(1, 9))
def test_the_tag_of_how_it_was_held_is_obeyed(tag: int, form: str) -> None:
    rows = np.zeros((800, 1000, 3), np.uint8)
    rows[:320, :320], rows[496:, :208] = (250, 20, 20), (20, 250, 20)
    exif = Image.Exif()
    exif[0x0112] = tag
    stream, turn = io.BytesIO(), HELD[tag - 1]
    upright = Image.fromarray(rows)
    (upright if turn is None else upright.transpose(turn)).save(stream, form, exif=exif, quality=95)
    found = open_photo(stream.getvalue(), "x.jpg")[:, :, ::-1]
    assert found.shape == rows.shape
    assert np.abs(found.astype(int) - rows).mean() < (0.1 if form == "PNG" else 3.0)


KINDS = {
    "CMYK": ("CMYK", "JPEG", {}), "grey": ("L", "JPEG", {}), "progressive": ("RGB", "JPEG", {"progressive": True}),
    "palette": ("P", "PNG", {}), "alpha": ("RGBA", "PNG", {}), "grey with alpha": ("LA", "PNG", {}),
    "black and white": ("1", "PNG", {}),
    "moving": ("RGB", "PNG", {"save_all": True, "append_images": [Image.new("RGB", (900, 800))]}),
}  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_a_picture_of_any_sound_kind_is_read_as_it_looks(kind: str) -> None:
    mode, form, how = KINDS[kind]
    rows = np.repeat(np.linspace(30, 220, 900, dtype=np.uint8)[None, :, None], 800, axis=0).repeat(3, axis=2)
    stream = io.BytesIO()
    Image.fromarray(rows).convert(mode).save(stream, form, **how)
    found = open_photo(stream.getvalue(), "x.jpg")
    assert found.shape == rows.shape
    assert abs(float(found.mean()) - float(rows.mean())) < 4.0


def test_sixteen_bits_are_read_as_they_look() -> None:
    rows = np.repeat(np.linspace(3000, 60000, 900)[None], 800, axis=0).astype(np.uint16)
    stream = io.BytesIO()
    Image.fromarray(rows).save(stream, "PNG")
    found = open_photo(stream.getvalue(), "x.png")
    assert np.abs(found[:, :, 1].astype(int) - rows // 257).max() <= 1


def test_a_heic_under_another_name_is_read(sound: bytes) -> None:
    pytest.importorskip("pillow_heif").register_heif_opener()
    stream = io.BytesIO()
    Image.new("RGB", (900, 900), (200, 190, 180)).save(stream, "HEIF")
    assert open_photo(stream.getvalue(), "x.jpg").shape == (900, 900, 3)


def test_what_a_picture_says_beside_itself_is_told_to_nobody(sound: bytes, recwarn: pytest.WarningsRecorder) -> None:
    told = b"\xff\xe1\x00\x20Exif\0\0II*\0\x08\0\0\0\xff\xff" + bytes(14)
    open_photo(sound[:2] + told + sound[2:], "x.jpg")
    assert not recwarn.list


@pytest.mark.parametrize("tag", range(1, 9))
def test_a_heic_is_laid_the_right_way_up_however_it_was_held(tag: int) -> None:
    pillow_heif = pytest.importorskip("pillow_heif")
    pillow_heif.register_heif_opener()
    rows = np.zeros((800, 1000, 3), np.uint8)
    rows[:300, :300], rows[500:, :200] = (250, 20, 20), (20, 250, 20)
    held = Image.fromarray(rows)
    turn = HELD[tag - 1]
    exif = Image.Exif()
    exif[0x0112], exif[0x0110] = tag, "SECRETCAMERA"
    stream = io.BytesIO()
    (held if turn is None else held.transpose(turn)).save(stream, "HEIF", exif=exif, quality=95)
    found = open_photo(stream.getvalue(), "x.heic")[:, :, ::-1]
    assert found.shape == rows.shape
    assert np.abs(found.astype(int) - rows).mean() < 3.0


def test_a_heic_cut_or_bent_anywhere_raises_nothing_else() -> None:
    pytest.importorskip("pillow_heif").register_heif_opener()
    stream = io.BytesIO()
    Image.new("RGB", (900, 900), (200, 190, 180)).save(stream, "HEIF")
    data, rng = stream.getvalue(), np.random.default_rng(5)
    for n in range(40):
        bent = bytearray(data[: int(rng.integers(2, len(data)))] if n % 2 else data)
        for at in rng.integers(0, min(len(bent), 1500), 5):
            bent[at] = int(rng.integers(256))
        try:
            pixels = open_photo(bytes(bent), "x.heic")
        except FitError:
            continue
        assert pixels.size <= 3 * MOST_PIXELS


def test_a_heic_without_its_package_is_refused_with_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pillow_heif", None)
    with pytest.raises(FitError, match=r"pillow-heif.*Or save the picture as a JPEG"):
        open_photo(b"", "x.HEIC")


def test_place_and_camera_are_not_in_what_is_kept(sound: bytes, tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x0110] = "SECRETCAMERA"
    exif.get_ifd(0x8825)[1] = "N"
    exif.get_ifd(0x8825)[29] = "2026:01:01"
    tagged = io.BytesIO()
    Image.open(io.BytesIO(sound)).save(tagged, "JPEG", quality=92, exif=exif, comment=b"SECRETPLACE")
    secrets = (b"SECRETCAMERA", b"2026:01:01", b"SECRETPLACE")
    assert all(secret in tagged.getvalue() for secret in secrets)
    photo = tmp_path / "photo.jpg"
    photo.write_bytes(tagged.getvalue())
    assert run(["new", str(tmp_path / "case"), "--pattern", str(photo), "--sure", "part", "--json"]) == 0
    kept = casebook.photograph_of(tmp_path / "case")
    assert kept is not None
    assert not Image.open(io.BytesIO(kept.picture)).getexif()
    for path in (tmp_path / "case").rglob("*"):
        assert not path.is_file() or not any(secret in path.read_bytes() for secret in secrets)
    pattern = casebook.open_case(tmp_path / "case").pattern
    xs = [segment.start.x for piece in pattern.pieces for edge in piece.edges for segment in edge.segments]
    assert kept.left_mm < min(xs) < max(xs) < kept.right_mm
    assert 0.0 < kept.within_mm <= 1.5


def test_a_missing_labels_file_is_drafted_and_a_corrected_one_is_obeyed(
    sound: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    photo, labels = tmp_path / "photo.jpg", tmp_path / "mine.yaml"
    photo.write_bytes(sound)
    told = ["new", str(tmp_path / "case"), "--pattern", str(photo), "--labels", str(labels), "--sure", "part"]
    assert run(told) == 2
    draft = capsys.readouterr().err
    assert "This draft may be kept" in draft
    assert not (tmp_path / "case").exists()
    labels.write_text("pieces:\n  1: {name: under-arm}\n")
    assert run(told) == 0
    assert "under-arm" in [piece.name for piece in casebook.open_case(tmp_path / "case").pattern.pieces]


def test_drawings_and_photographs_are_not_mixed_and_a_rule_needs_a_photograph(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["new", str(tmp_path / "c"), "--pattern", "a.svg", "--pattern", "b.jpg"]) == 2
    assert "not all of them are photographs" in capsys.readouterr().err
    assert run(["new", str(tmp_path / "c"), "--pattern", "a.svg", "--ruler", "199 mm"]) == 2
    assert "belongs to a photograph" in capsys.readouterr().err
