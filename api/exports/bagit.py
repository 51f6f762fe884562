"""A bag of files as one zip, written from front to back: BagIt 1.0 (RFC 8493).

The same files give the same bytes: one moment for every member, one order, one compression.
Digests are taken while the bytes go by, so that nothing is read twice or held in memory.
"""

import hashlib
import zipfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import IO

# The earliest moment that a zip can say: it says nothing.
MEMBER_DATE = (1980, 1, 1, 0, 0, 0)
# Most of a bag is JSON, which the quickest level makes five times smaller already.
LEVEL = 1
DECLARATION = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
MANIFEST, TAG_MANIFEST, INFO, SEAL = (
    "manifest-sha256.txt",
    "tagmanifest-sha256.txt",
    "bag-info.txt",
    "seal.jws",
)
PIECE = 64 * 1024


class Member:
    """A file of the bag that is being written; it knows its digest and size."""

    def __init__(self, file: IO[bytes]) -> None:
        self._file = file
        self._digest = hashlib.sha256()
        self.size = 0

    def write(self, data: bytes) -> int:
        self._digest.update(data)
        self.size += len(data)
        return self._file.write(data)

    @property
    def sha256(self) -> str:
        return self._digest.hexdigest()


class Bag:
    """Files are added below `data/`, one after the other; `close` writes what lists them."""

    def __init__(self, into: IO[bytes], folder: str) -> None:
        self._zip = zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED, compresslevel=LEVEL)
        self._folder = folder
        self._payload: dict[str, Member] = {}
        self._tags: dict[str, Member] = {}

    @contextmanager
    def file(self, name: str) -> Iterator[Member]:
        """A file of the payload, by its path below `data/`."""
        with self._member(f"data/{name}", self._payload) as member:
            yield member

    def put(self, name: str, data: bytes | str) -> None:
        with self.file(name) as member:
            member.write(data if isinstance(data, bytes) else data.encode())

    def lines(self, name: str, lines: Iterator[bytes]) -> int:
        """A file of many short lines, given without their ends; how many there were."""
        waiting: list[bytes] = []
        count = size = 0
        with self.file(name) as member:
            for line in lines:
                waiting += (line, b"\n")
                size += len(line) + 1
                count += 1
                if size >= PIECE:
                    member.write(b"".join(waiting))
                    waiting, size = [], 0
            member.write(b"".join(waiting))
        return count

    def close(self, info: Mapping[str, str], seal: Callable[[Mapping[str, str]], str]) -> str:
        """Write the tag files and end the zip; the digest of the tag manifest.

        `seal` signs the digests of the manifest and of what is said of the bag.
        """
        self._tag("bagit.txt", DECLARATION)
        size = sum(one.size for one in self._payload.values())
        oxum = {"Payload-Oxum": f"{size}.{len(self._payload)}"}
        said = {**info, **oxum}
        lines = (f"{name}: {' '.join(text.split())}\n" for name, text in said.items())
        self._tag(INFO, "".join(lines))
        self._tag(MANIFEST, _listed(self._payload))
        digests = {name: self._tags[name].sha256 for name in (MANIFEST, INFO)}
        self._tag(SEAL, seal(digests) + "\n")
        others = dict(self._tags)
        self._tag(TAG_MANIFEST, _listed(others))
        self._zip.close()
        return self._tags[TAG_MANIFEST].sha256

    def _tag(self, name: str, text: str) -> None:
        with self._member(name, self._tags) as member:
            member.write(text.encode())

    @contextmanager
    def _member(self, name: str, among: dict[str, Member]) -> Iterator[Member]:
        # Two kinds of lines would need encoding in a manifest; no name of ours has them.
        if name in among or any(sign in name for sign in "\r\n%\\") or ".." in name:
            raise ValueError(f"{name} cannot be a file of this bag")
        info = zipfile.ZipInfo(f"{self._folder}/{name}", MEMBER_DATE)
        info.compress_type = zipfile.ZIP_DEFLATED
        info.external_attr = 0o644 << 16
        with self._zip.open(info, "w", force_zip64=True) as file:
            among[name] = member = Member(file)
            yield member


def _listed(members: Mapping[str, Member]) -> str:
    return "".join(f"{one.sha256}  {name}\n" for name, one in sorted(members.items()))
