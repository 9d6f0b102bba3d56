"""No tracked file that is no text holds a path of the machine it was made on: pictures, documents, whatever comes."""
import io
import pathlib
import re
import subprocess
import zipfile
import zlib

import pytest

ROOT = pathlib.Path(__file__).parents[2]
PATH = re.compile(rb"(?<![\w./-])/(?:home|root|tmp|work|workspace|Users|opt|mnt|media|private|var|proj)/[\w.-]+"
                  rb"|[A-Za-z]:\\\\?(?:Users|Temp|work)\\")
COMPRESSED = re.compile(rb"\x78[\x01\x5e\x9c\xda]")


def _binary():
    """Tracked files that are not UTF-8 text."""
    try:
        listed = subprocess.run(["git", "-C", str(ROOT), "ls-files", "-z"], capture_output=True, check=True).stdout
        names = [ROOT / name for name in listed.decode().split("\0") if name]
    except (OSError, subprocess.CalledProcessError):        # an unpacked archive
        names = [path for path in ROOT.rglob("*") if path.is_file() and not {".git", "build", "__pycache__"} & set(path.parts)]
    found = []
    for path in names:
        if path.is_file():
            data = path.read_bytes()
            try:
                data.decode("utf-8")
            except UnicodeDecodeError:
                found.append(path)
    return found


def pieces(data, name, depth=0):
    """The bytes of a file, of every member of an archive, and of every stream that is compressed in it (a PNG's texts and pixels)."""
    yield name, data
    if depth > 4:
        return
    if zipfile.is_zipfile(io.BytesIO(data)):
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            yield f"{name} (comment)", archive.comment
            for member in archive.infolist():
                yield f"{name}/{member.filename} (its name)", member.filename.encode() + b" " + member.comment
                yield from pieces(archive.read(member), f"{name}/{member.filename}", depth + 1)
        return
    if data.startswith((b"\x89PNG", b"%PDF", b"\x1f\x8b")):
        for match in COMPRESSED.finditer(data):
            try:
                inner = zlib.decompressobj().decompress(data[match.start():], 1_000_000)
            except zlib.error:
                continue
            if len(inner) > 8:
                yield f"{name} (compressed, at {match.start()})", inner


def machine_paths(data, name):
    return [f"{place}: {match.group().decode('latin-1')}" for place, piece in pieces(data, name) for match in PATH.finditer(piece)]


def test_no_machine_path_in_tracked_binary_files():
    files = _binary()
    assert {path.suffix for path in files} >= {".png", ".FCStd"}
    found = [line for path in files for line in machine_paths(path.read_bytes(), str(path.relative_to(ROOT)))]
    assert not found, found


def _png_text(text):
    body = b"Title\0\0" + zlib.compress(text)
    return b"\x89PNG\r\n\x1a\n" + len(body).to_bytes(4, "big") + b"zTXt" + body + zlib.crc32(b"zTXt" + body).to_bytes(4, "big")


def _archive(name, data):
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(name, data)
    return file.getvalue()


@pytest.mark.parametrize("path", [b"/home/someone/car.png", b"/tmp/x/car.FCStd", b"C:\\Users\\Someone\\car"])
def test_a_path_is_found_wherever_it_hides(path):
    assert machine_paths(b"\x89PNG tEXtTitle\0" + path, "plain")
    assert machine_paths(_png_text(b"made in " + path), "text of a picture")
    assert machine_paths(_archive("Document.xml", b'<Property value="' + path + b'"/>'), "document")
    assert machine_paths(_archive("inner.zip", _archive("thumbnail.png", _png_text(path))), "picture in a document in an archive")


def test_what_is_no_path_of_a_machine_passes():
    assert not machine_paths(b"\x89PNG http://host/home/page engine/tmp/x loop/front 1/2 a/b", "no path")
