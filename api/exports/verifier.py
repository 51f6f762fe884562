#!/usr/bin/env python3
"""Checks an audit bag without the service that wrote it.

    python3 verify.py audit.zip
    python3 verify.py audit.zip --keys jwks.json      keys that you fetched yourself

Needs Python 3.9 or newer and the package `cryptography`. It says what it checked, or the first
thing that is wrong, and ends with 0 or 1. Without --keys it believes the keys in the bag: then
compare the printed fingerprint with one that you have from elsewhere.
"""

from __future__ import annotations

import argparse
import base64
import hashlib
import hmac
import json
import sys
import unicodedata
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

PIECE = 1 << 20
SMALL = 1 << 24  # nothing that is read whole is longer
DECLARATION = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
TAGS = {"bagit.txt", "bag-info.txt", "manifest-sha256.txt", "seal.jws"}
ALGORITHMS = ("EdDSA", "Ed25519")
LEFT_OUT = " -"
Keys = dict[str, Ed25519PublicKey]


class Wrong(Exception):
    """What is not as it was written."""


def need(true: object, says: str) -> None:
    if not true:
        raise Wrong(says)


# -- The bag as files --------------------------------------------------------------------------


class Bag:
    """The files of a zip or of a folder, by their paths inside the bag."""

    def __init__(self, path: str) -> None:
        self.zip = None if Path(path).is_dir() else zipfile.ZipFile(path)
        self.folder = Path(path).resolve().parent
        names = self._in_zip(self.zip) if self.zip else self._in_folder(Path(path).resolve())
        heads = {name.split("/", 1)[0] for name in names}
        need(len(heads) == 1, "the bag is not one folder")
        head = heads.pop()
        self.names = {name[len(head) + 1 :]: name for name in names}
        need(len(self.names) == len(names), "a file is in the bag twice")

    def _in_zip(self, file: zipfile.ZipFile) -> list[str]:
        return [one.filename for one in file.infolist() if not one.is_dir()]

    def _in_folder(self, folder: Path) -> list[str]:
        files = [one for one in folder.rglob("*") if one.is_file()]
        return [one.relative_to(self.folder).as_posix() for one in files]

    @contextmanager
    def open(self, name: str) -> Iterator[IO[bytes]]:
        need(name in self.names, f"{name} is missing")
        where = self.names[name]
        file = self.zip.open(where) if self.zip else (self.folder / where).open("rb")
        with file:
            yield file

    def read(self, name: str) -> bytes:
        with self.open(name) as file:
            data = file.read(SMALL + 1)
        need(len(data) <= SMALL, f"{name} is too long")
        return data

    def text(self, name: str) -> str:
        return self.read(name).decode("utf-8")

    def lines(self, name: str) -> Iterator[bytes]:
        """The lines without their ends, one at a time."""
        with self.open(name) as file:
            for line in file:
                need(line.endswith(b"\n"), f"{name} is cut off")
                yield line[:-1]

    def sha256(self, name: str) -> str:
        digest = hashlib.sha256()
        with self.open(name) as file:
            while piece := file.read(PIECE):
                digest.update(piece)
        return digest.hexdigest()

    def under(self, folder: str) -> list[str]:
        return sorted(name for name in self.names if name.startswith(folder + "/"))


def check_files(bag: Bag) -> int:
    need(bag.read("bagit.txt") == DECLARATION, "bagit.txt is not that of BagIt 1.0")
    payload = manifest(bag, "manifest-sha256.txt")
    tags = manifest(bag, "tagmanifest-sha256.txt")
    there = set(bag.under("data"))
    need(payload.keys() == there, differ("manifest-sha256.txt", payload.keys() ^ there))
    need(tags.keys() == TAGS, differ("tagmanifest-sha256.txt", tags.keys() ^ TAGS))
    known = there | TAGS | {"tagmanifest-sha256.txt"}
    need(bag.names.keys() == known, differ("the bag", bag.names.keys() ^ known))
    for name, digest in [*tags.items(), *payload.items()]:
        need(bag.sha256(name) == digest, f"{name} is not the file that was put in")
    return len(payload)


def differ(what: str, names: Iterable[str]) -> str:
    return f"{what} does not fit the files: {', '.join(sorted(names)[:5])}"


def manifest(bag: Bag, name: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for line in bag.text(name).splitlines():
        digest, _, path = line.partition("  ")
        safe = path and not path.startswith("/") and ".." not in path.split("/")
        need(len(digest) == 64 and safe and path not in found, f"{name}: {line}")
        found[path] = digest
    return found


# -- Keys and signatures -----------------------------------------------------------------------


def unbase64(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


def read_keys(text: str) -> Keys:
    """Public keys by their fingerprint (RFC 7638), which nobody can choose."""
    found = {}
    for one in json.loads(text)["keys"]:
        said = json.dumps(
            {"crv": one["crv"], "kty": one["kty"], "x": one["x"]}, separators=(",", ":")
        )
        kid = base64.urlsafe_b64encode(hashlib.sha256(said.encode()).digest()).decode()
        need(one["kid"] == kid.rstrip("="), f"the key {one['kid']} has another fingerprint")
        found[one["kid"]] = Ed25519PublicKey.from_public_bytes(unbase64(one["x"]))
    return found


def signed(token: str, keys: Keys, kind: str, where: str) -> Any:
    """The payload of a compact JWS, if one of the keys signed it."""
    try:
        head, body, signature = token.split(".")
        header = json.loads(unbase64(head))
        need(header["alg"] in ALGORITHMS and header["typ"] == kind, f"{where}: another type")
        need("crit" not in header, f"{where}: critical extensions")
        need(header["kid"] in keys, f"{where}: signed by a key that is not known")
        keys[header["kid"]].verify(unbase64(signature), f"{head}.{body}".encode())
        return json.loads(unbase64(body))
    except (ValueError, KeyError, InvalidSignature) as error:
        raise Wrong(f"{where}: the signature does not fit") from error


def kid_of(token: str) -> str:
    """Which key a token says it was signed with."""
    return str(json.loads(unbase64(token.split(".")[0]))["kid"])


def check_seal(bag: Bag, keys: Keys) -> Any:
    seal = signed(bag.text("seal.jws").strip(), keys, "audit-bag+jwt", "seal.jws")
    for name in ("manifest-sha256.txt", "bag-info.txt"):
        need(seal[name] == bag.sha256(name), f"{name} is not the one that was sealed")
    return seal


def read_note(note: str, vkey: str, where: str) -> tuple[str, int, bytes]:
    """Origin, size and root of a checkpoint that the key signed (c2sp.org/tlog-checkpoint)."""
    name, key_id, data = vkey.strip().split("+", 2)
    key = base64.b64decode(data)
    own = hashlib.sha256(name.encode() + b"\n" + key).digest()[:4]
    need(key[:1] == b"\x01" and own.hex() == key_id, f"{where}: no key for checkpoints")
    text, _, last = note.rstrip("\n").rpartition("\n\n")
    for line in last.split("\n"):
        dash, signer, value = line.split(" ")
        raw = base64.b64decode(value)
        if dash == "\N{EM DASH}" and signer == name and raw[:4] == own:
            public = Ed25519PublicKey.from_public_bytes(key[1:])
            try:
                public.verify(raw[4:], (text + "\n").encode())
            except InvalidSignature as error:
                raise Wrong(f"{where}: the signature does not fit") from error
            origin, size, root = text.split("\n")[:3]
            return origin, int(size), base64.b64decode(root)
    raise Wrong(f"{where}: not signed by {name}")


# -- Record books ------------------------------------------------------------------------------


def leaf_hash(entry: bytes) -> bytes:
    return hashlib.sha256(b"\x00" + entry).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    return hashlib.sha256(b"\x01" + left + right).digest()


class Tree:
    """The tree of RFC 6962, added to leaf by leaf."""

    def __init__(self) -> None:
        self.size = 0
        self.hashes: list[bytes] = []

    def add(self, leaf: bytes) -> None:
        size = self.size
        while size & 1:
            leaf = node_hash(self.hashes.pop(), leaf)
            size >>= 1
        self.hashes.append(leaf)
        self.size += 1

    def root(self) -> bytes:
        if not self.hashes:
            return hashlib.sha256(b"").digest()
        *others, found = self.hashes
        for left in reversed(others):
            found = node_hash(left, found)
        return found


class Found:
    """What the record books say that other files have to fit."""

    def __init__(self) -> None:
        # Digest of the signed text: its entry and where that stands.
        self.certificates: dict[str, tuple[str, int]] = {}
        self.keys: dict[str, str] = {}  # each with its newest state
        self.files: set[str] = set()
        self.entries = self.left_out = 0


def check_book(bag: Bag, said: Any, found: Found) -> bytes:
    log, where = said["log"], f"data/books/{said['log']}"
    vkey = bag.text(f"{where}/vkey.txt")
    origin, size, root = read_note(bag.text(f"{where}/checkpoint.txt"), vkey, where)
    need(origin == f"fillmark/{log}", f"{where}: the checkpoint is that of {origin}")
    need(vkey.strip() == said["vkey"], f"{where}: another key for checkpoints was sealed")
    need((size, root.hex()) == (said["size"], said["root"]), f"{where}: another checkpoint")
    tree, entries = Tree(), bag.lines(f"{where}/log.jsonl")
    texts = Texts(bag, f"{where}/texts.jsonl")
    for line in bag.lines(f"{where}/leaves.txt"):
        leaf = bytes.fromhex(line[:64].decode())
        tree.add(leaf)
        if line[64:].decode() == LEFT_OUT:
            found.left_out += 1
            continue
        check_entry(next(entries, b""), leaf, tree.size - 1, log, texts, found)
    need(next(entries, None) is None, f"{where}/log.jsonl has more entries than leaves")
    texts.end()
    need(tree.size == size, f"{where}: {tree.size} leaves, but {size} were sealed")
    need(tree.root() == root, f"{where}: the leaves do not lead to the sealed root")
    return root


def check_entry(
    entry: bytes, leaf: bytes, seq: int, log: str, texts: Texts, found: Found
) -> None:
    need(leaf_hash(entry) == leaf, f"entry {seq} of {log} is not the one that was entered")
    told = json.loads(entry)
    need((told["seq"], told["log"]) == (seq, log), f"entry {seq} of {log} is another one")
    texts.check(told)
    found.entries += 1
    found.files.update(told["files"])
    body = told["body"]
    if told["kind"] == "certificate_issued":
        found.certificates[body["token_sha256"]] = (told["uid"], seq)
    if told["kind"] == "signing_key_set" and body["purpose"] == "certificate":
        found.keys[body["kid"]] = body["state"]
    if told["kind"] == "certificate_signed_anew":
        entered = found.certificates.pop(body["was_sha256"], None)
        if entered is not None:
            found.certificates[body["token_sha256"]] = entered


class Texts:
    """Notes and names beside the entries, in their order; erased ones are not there."""

    def __init__(self, bag: Bag, name: str) -> None:
        self.name, self.lines = name, bag.lines(name)
        self.next = self._read()

    def _read(self) -> Any:
        line = next(self.lines, None)
        return json.loads(line) if line is not None else None

    def check(self, told: Any) -> None:
        while self.next is not None and self.next["fact"] == told["uid"]:
            one = self.next
            text = unicodedata.normalize("NFC", one["text"]).encode()
            digest = hmac.new(bytes.fromhex(one["salt"]), text, hashlib.sha256).hexdigest()
            fits = told["texts"].get(one["name"]) == digest
            need(fits, f"{self.name}: a text of entry {told['seq']} is another one")
            self.next = self._read()

    def end(self) -> None:
        need(self.next is None, f"{self.name} has texts of no entry")


# -- What the books speak of -------------------------------------------------------------------


def check_certificates(bag: Bag, keys: Keys, found: Found) -> tuple[int, list[str]]:
    """How many there are, and those whose key is in other hands by now."""
    tokens, doubtful = {}, []
    for name in bag.under("data/certificates"):
        token = bag.text(name)
        signed(token, keys, "vc+jwt", name)
        if found.keys.get(kid_of(token)) == "compromised":
            doubtful.append(Path(name).stem)
        tokens[hashlib.sha256(token.encode()).hexdigest()] = name
    need(
        tokens.keys() == found.certificates.keys(),
        "the certificates are not those of the record book: "
        + ", ".join(tokens.get(one, one) for one in tokens.keys() ^ found.certificates.keys()),
    )
    for name in bag.under("data/status"):
        signed(bag.text(name), keys, "vc+jwt", name)
    return len(tokens), doubtful


def check_keys(bag: Bag, keys: Keys, found: Found) -> None:
    """The keys that the organisation entered as its own are those that came with the bag."""
    need(found.keys.keys() == keys.keys(), "the keys are not those of the record book")
    sealed_by = kid_of(bag.text("seal.jws"))
    need(found.keys.get(sealed_by) != "compromised", "seal.jws: its key is in other hands")


def check_proofs(
    bag: Bag, roots: dict[str, tuple[int, bytes]], vkeys: dict[str, str], found: Found
) -> None:
    places = dict(found.certificates.values())
    names = bag.under("data/proofs")
    for name in names:
        proof, _, note = bag.text(name).partition("\n\n")
        head, index, *hashes = proof.split("\n")
        need(head == "c2sp.org/tlog-proof@v1", f"{name}: no proof")
        seq = int(index.split(" ")[1])
        origin, size, root = read_note(note, vkeys[note.split("\n")[0]], name)
        need(roots.get(origin) == (size, root), f"{name}: for another checkpoint")
        entry = Path(name).name.split(".")[0]
        need(places.get(entry) == seq, f"{name}: for another entry")
        leaf = leaf_of(bag, origin, seq)
        path = [base64.b64decode(one) for one in hashes]
        need(leads(leaf, seq, size, path) == root, f"{name}: leads to another root")
    need(len(names) == len(places), "a proof of a certificate is missing")


def leaf_of(bag: Bag, origin: str, seq: int) -> bytes:
    where = f"data/books/{origin.split('/')[1]}/leaves.txt"
    for n, line in enumerate(bag.lines(where)):
        if n == seq:
            return bytes.fromhex(line[:64].decode())
    raise Wrong(f"{where} has no leaf {seq}")


def leads(found: bytes, node: int, size: int, path: list[bytes]) -> bytes | None:
    """Where a proof of inclusion leads to (RFC 9162 section 2.1.3.2)."""
    last = size - 1
    for sibling in path:
        need(last > 0, "a proof is too long")
        if node & 1 or node == last:
            found = node_hash(sibling, found)
            while not node & 1 and node:
                node, last = node >> 1, last >> 1
        else:
            found = node_hash(found, sibling)
        node, last = node >> 1, last >> 1
    return found if last == 0 else None


def check_documents(bag: Bag, found: Found) -> None:
    for name in bag.under("data/documents"):
        digest = Path(name).name.split(".")[0]
        need(bag.sha256(name) == digest, f"{name} has another digest than its name")
        need(digest in found.files, f"{name} is named by no entry")


# -- All of it ---------------------------------------------------------------------------------


def check(path: str, trusted: str | None = None) -> Iterator[str]:
    """What was checked, as lines to print. Raises Wrong."""
    bag = Bag(path)
    files = check_files(bag)
    keys = read_keys(bag.text("data/keys/jwks.json"))
    seal = check_seal(bag, read_keys(trusted) if trusted else keys)
    found = Found()
    roots: dict[str, tuple[int, bytes]] = {}
    vkeys: dict[str, str] = {}
    for said in seal["books"]:
        root = check_book(bag, said, found)
        roots[f"fillmark/{said['log']}"] = (said["size"], root)
        vkeys[f"fillmark/{said['log']}"] = said["vkey"]
    need(found.entries == seal["entries"], "not as many entries as were sealed")
    check_keys(bag, keys, found)
    certificates, doubtful = check_certificates(bag, keys, found)
    check_proofs(bag, roots, vkeys, found)
    check_documents(bag, found)
    yield f"{files} files are those that were sealed."
    yield f"{found.entries} entries stand in their record books, {found.left_out} are left out."
    yield f"{certificates} certificates are signed and stand in the record book."
    if doubtful:
        yield f"Signed with a key that is in other hands by now: {', '.join(doubtful)}."
    yield f"Records from {seal['from']} until {seal['to']}, as known by {seal['as_of']}."
    if not trusted:
        kids = ", ".join(sorted(keys))
        yield f"Checked with the keys in the bag. Compare their fingerprints: {kids}"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("bag", help="the zip, or the folder unpacked from it")
    parser.add_argument("--keys", help="a file with the keys of /.well-known/jwks.json")
    given = parser.parse_args()
    trusted = Path(given.keys).read_text(encoding="utf-8") if given.keys else None
    try:
        for line in check(given.bag, trusted):
            sys.stdout.write(line + "\n")
    except (Wrong, OSError, ValueError, KeyError, zipfile.BadZipFile) as error:
        sys.stdout.write(f"WRONG: {error}\n")
        return 1
    sys.stdout.write("The bag is what was written.\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
