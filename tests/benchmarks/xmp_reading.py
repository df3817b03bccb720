"""
Reading XMP against other readers, and merging it against writing the same bytes and doing nothing else.

A thousand sidecars are read: eight hundred as this program writes them, two hundred as others do. Reading is
measured in processor time, for the machine may be shared; writing by the clock, for it waits for the disk.
"""

from __future__ import annotations

import ctypes
import ctypes.util
import os
import re
import tempfile
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial
from pathlib import Path
from statistics import median
from time import process_time

from catalog.outputs.sidecar_batches import THREADS
from catalog.outputs.sidecar_fields import properties_of
from catalog.outputs.sidecars import prepare
from catalog.standards.xmp import NAMESPACES, format_packet, merge, parse_packet
from catalog.standards.xmp_names import RDF
from tests.benchmarks.rows import Row, interleaved
from tests.outputs.a_caption import CERTAIN, DOUBTFUL

OURS, FOREIGN = 800, 200
WRITTEN = 200

_DECLARED = " ".join(f'xmlns:{prefix}="{uri}"' for prefix, uri in NAMESPACES.items() if prefix != "tiebeam")


def foreign(n: int) -> bytes:
    """Return a sidecar as another program might write it: attributes, several descriptions, a history, padding."""
    event = (
        '<rdf:li rdf:parseType="Resource"><stEvt:action>saved</stEvt:action>'
        f"<stEvt:instanceID>xmp.iid:{n:08}</stEvt:instanceID><stEvt:when>2011-02-0{n % 9 + 1}T10:00:00Z</stEvt:when>"
        "<stEvt:changed>/metadata</stEvt:changed></rdf:li>"
    )
    keywords = "".join(f"<rdf:li>keyword {n + k}</rdf:li>" for k in range(20))
    return (
        '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?><x:xmpmeta xmlns:x="adobe:ns:meta/">'
        f'<rdf:RDF xmlns:rdf="{RDF}"><rdf:Description rdf:about="" {_DECLARED} '
        'xmp:Rating="3" xmp:CreatorTool="a scanner" '
        f'tiff:Make="Corvane" tiff:Orientation="1" xmpMM:DocumentID="xmp.did:{n:08}" photoshop:City="Osk" '
        'exif:PixelXDimension="9600" exif:PixelYDimension="12000" photoshop:ColorMode="1">'
        f"<dc:subject><rdf:Bag>{keywords}</rdf:Bag></dc:subject>"
        f'<dc:title><rdf:Alt><rdf:li xml:lang="x-default">Osk Mill, {n}</rdf:li></rdf:Alt></dc:title>'
        f"<xmpMM:History><rdf:Seq>{event * 12}</rdf:Seq></xmpMM:History></rdf:Description>"
        f'<rdf:Description rdf:about="" xmlns:ex="http://example.org/valley/" ex:Drawer="{n}"/></rdf:RDF></x:xmpmeta>'
        + (" " * 99 + "\n") * 20
        + '<?xpacket end="w"?>'
    ).encode()


def sidecars() -> list[bytes]:
    """Return what is read: no two alike."""
    captions = (CERTAIN, DOUBTFUL)
    ours = [
        prepare(None, replace(captions[n % 2], reference=f"S{n}", title=f"Osk Mill, east elevation, {n}"))
        for n in range(OURS)
    ]
    return ours + [foreign(n) for n in range(FOREIGN)]


def processor_seconds(read: Callable[[], object]) -> float:
    """Return the processor time that ``read`` takes."""
    began = process_time()
    read()
    return process_time() - began


def read_with_us(contents: list[bytes]) -> None:
    """Read every value of every sidecar."""
    for data in contents:
        parse_packet(data)


def read_with_exiv2(contents: list[bytes]) -> None:
    """Let exiv2 read each; its values are not even asked for."""
    import exiv2

    for data in contents:
        exiv2.ImageFactory.open(data).readMetadata()


def read_with_toolkit(contents: list[bytes]) -> None:
    """Read and iterate with exempi through its Python toolkit."""
    from libxmp import XMPIterator, XMPMeta

    for data in contents:
        meta = XMPMeta()
        meta.parse_from_str(_undeclared(data).decode())
        for _ in XMPIterator(meta):
            pass


def _undeclared(data: bytes) -> bytes:
    return re.sub(rb"^<\?xml [^>]*\?>", b"", data)


def exempi_itself() -> Callable[[list[bytes]], None] | None:
    """Return a reader that calls exempi's own functions and nothing between, or ``None`` without the library."""
    found = ctypes.util.find_library("exempi")
    if found is None:
        return None
    library, pointer = ctypes.CDLL(found), ctypes.c_void_p
    signatures = {
        "xmp_new": (pointer, [ctypes.c_char_p, ctypes.c_size_t]),
        "xmp_free": (ctypes.c_bool, [pointer]),
        "xmp_iterator_new": (pointer, [pointer, ctypes.c_char_p, ctypes.c_char_p, ctypes.c_uint32]),
        "xmp_iterator_next": (ctypes.c_bool, [pointer] * 5),
        "xmp_iterator_free": (ctypes.c_bool, [pointer]),
        "xmp_string_new": (pointer, []),
        "xmp_string_cstr": (ctypes.c_char_p, [pointer]),
    }
    for called, (result, arguments) in signatures.items():
        function = getattr(library, called)
        function.restype, function.argtypes = result, arguments
    library.xmp_init()
    schema, path, value = (library.xmp_string_new() for _ in range(3))
    options = ctypes.c_uint32()

    def read(contents: list[bytes]) -> None:
        for data in map(_undeclared, contents):
            packet = library.xmp_new(data, len(data))
            nodes = library.xmp_iterator_new(packet, None, None, 0)
            while library.xmp_iterator_next(nodes, schema, path, value, ctypes.addressof(options)):
                library.xmp_string_cstr(path)
                library.xmp_string_cstr(value)
            library.xmp_iterator_free(nodes)
            library.xmp_free(packet)

    return read


def reading_rows() -> list[Row]:
    """Return the figures for reading."""
    contents = sidecars()
    size = sum(map(len, contents)) / len(contents)
    direct = exempi_itself()
    readers = [read_with_us, read_with_exiv2] + ([read_with_toolkit, direct] if direct else [])
    seconds = interleaved(*(partial(processor_seconds, partial(read, contents)) for read in readers), rounds=3)
    ours, exiv2 = seconds[:2]
    rows = [
        Row(f"XMP read: a sidecar of {size:,.0f} bytes", ours / len(contents) * 1e6, None, "µs"),
        Row("XMP read: our time over exiv2's", ours / exiv2, 1.0, "x"),
    ]
    if direct is None:
        return [*rows, Row("XMP read: exempi is not installed, so not measured", float("nan"), None, "")]
    toolkit, itself = seconds[2:]
    return [
        *rows,
        Row("XMP read: exempi's iteration over our time, by its toolkit", toolkit / ours, 3.0, "x", at_least=True),
        Row("XMP read: exempi's iteration over our time, called directly", itself / ours, None, "x"),
    ]


def merging_rows() -> list[Row]:
    """Return the figures for merging into sidecars of others and writing them."""
    existing = [foreign(n) for n in range(WRITTEN)]
    says = [properties_of(replace(CERTAIN, reference=f"S{n}")) for n in range(WRITTEN)]

    def merged() -> list[bytes]:
        pairs = zip(existing, says, strict=True)
        return [format_packet(merge(parse_packet(data), said)) for data, said in pairs]

    contents = merged()
    with tempfile.TemporaryDirectory() as folder:
        paths = [Path(folder) / f"{n:04}.xmp" for n in range(WRITTEN)]

        def write_bare() -> None:
            for path, data in zip(paths, contents, strict=True):
                put(path, data)

        def write_merged() -> None:
            for path, data, said in zip(paths, existing, says, strict=True):
                put(path, format_packet(merge(parse_packet(data), said)))

        def write_overlapping() -> None:
            # While some are on their way to the disk others are merged, as the program does (decision 0005).
            with ThreadPoolExecutor(THREADS) as pool:
                written = [
                    pool.submit(put, path, format_packet(merge(parse_packet(data), said)))
                    for path, data, said in zip(paths, existing, says, strict=True)
                ]
                for one in written:
                    one.result()

        bare, ours, overlapping = interleaved(write_bare, write_merged, write_overlapping, rounds=7)
    alone = median(processor_seconds(merged) for _ in range(5))
    return [
        Row("XMP merged: read, merged and formatted, without the disk", alone / WRITTEN * 1e6, None, "µs"),
        Row("XMP written bare", WRITTEN / bare, None, "a second"),
        Row("XMP merged and written, one at a time", WRITTEN / ours, None, "a second"),
        Row("XMP merged and written, one at a time, of the bare rate", bare / ours, 0.7, "x", at_least=True),
        Row("XMP merged and written, several on their way at once", bare / overlapping, 0.7, "x", at_least=True),
    ]


def put(path: Path, data: bytes) -> None:
    """Write bytes, force them to disk, give them their name."""
    passing = path.with_suffix(".part")
    with passing.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    passing.replace(path)


def measure() -> list[Row]:
    """Return every figure of this part."""
    return [*reading_rows(), *merging_rows()]


if __name__ == "__main__":
    from tests.benchmarks.rows import print_rows

    print_rows(measure())
