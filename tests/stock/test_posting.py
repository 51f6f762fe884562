"""Posting to other machines: to the one that was looked at, securely, in time, or not."""

import socket
import ssl
import threading
from contextlib import contextmanager
from datetime import UTC, datetime

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from stock.posting import post
from tests.receiver import Receiver, receiving


@pytest.fixture
def receiver():
    with receiving() as here:
        yield here


def test_a_public_name_that_leads_inside_when_it_is_asked_for_is_not_spoken_to(
    receiver, monkeypatch
):
    inside = [(socket.AF_INET, socket.SOCK_STREAM, 6, "", ("127.0.0.1", receiver.server_port))]
    monkeypatch.setattr(socket, "getaddrinfo", lambda *_, **__: inside)

    came = post("https://example.org/", {}, b"{}", private_allowed=False)

    assert (came.status, came.why, receiver.came) == (None, "private", [])


def test_a_name_is_asked_for_once_and_one_good_address_excuses_no_other(receiver, monkeypatch):
    asked = []
    inside = (socket.AF_INET, socket.SOCK_STREAM, 6, "", ("127.0.0.1", receiver.server_port))
    outside = (socket.AF_INET, socket.SOCK_STREAM, 6, "", ("93.184.215.14", 443))

    def resolve(*_, **__):
        asked.append(1)
        return [outside, inside]

    monkeypatch.setattr(socket, "getaddrinfo", resolve)

    came = post("https://example.org/", {}, b"{}", private_allowed=False)

    assert (came.why, asked, receiver.came) == ("private", [1], [])


def test_nobody_there_and_no_such_name_are_said():
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        port = taken.getsockname()[1]
        nobody = post(f"http://127.0.0.1:{port}/", {}, b"", private_allowed=True)
    nowhere = post(f"https://{'a' * 64}.invalid/", {}, b"", private_allowed=True)

    assert (nobody.why, nowhere.why) == ("no_connection", "unknown_host")


def test_what_answers_too_slowly_or_in_another_tongue_is_cut_off(receiver):
    address = f"http://127.0.0.1:{receiver.server_port}/"
    with socket.create_server(("127.0.0.1", 0)) as silent:
        where = f"http://127.0.0.1:{silent.getsockname()[1]}/"
        came = post(where, {}, b"{}", private_allowed=True, total_s=0.05)
    insecure = post(address.replace("http", "https"), {}, b"", private_allowed=True)

    assert (came.status, came.why) == (None, "no_answer")
    assert insecure.why == "not_secure"


def test_a_good_certificate_for_another_name_is_not_good(tmp_path, monkeypatch):
    key, cert = self_signed("localhost")
    chain = tmp_path / "chain.pem"
    chain.write_bytes(key + cert)
    monkeypatch.setenv("SSL_CERT_FILE", str(chain))
    with secure(chain) as (port, came):
        named = post(f"https://localhost:{port}/a", {}, b"{}", private_allowed=True)
        other = post(f"https://127.0.0.1:{port}/a", {}, b"{}", private_allowed=True)

    assert (named.status, other.why) == (204, "not_secure")
    assert [one.headers["host"] for one in came] == [f"localhost:{port}"]


@contextmanager
def secure(chain):
    """The receiver behind HTTPS; its port and what came."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(chain)
    with Receiver() as here:
        here.socket = context.wrap_socket(here.socket, server_side=True)
        threading.Thread(target=here.serve_forever, args=(0.01,), daemon=True).start()
        yield here.server_port, here.came
        here.shutdown()


def self_signed(name):
    """A key and a certificate for one name, in PEM, good in the years around now."""
    key = ec.generate_private_key(ec.SECP256R1())
    whose = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    made = (
        x509.CertificateBuilder()
        .subject_name(whose)
        .issuer_name(whose)
        .public_key(key.public_key())
        .serial_number(1)
        .not_valid_before(datetime(2020, 1, 1, tzinfo=UTC))
        .not_valid_after(datetime(2120, 1, 1, tzinfo=UTC))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(name)]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    private = key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
    return private, made.public_bytes(serialization.Encoding.PEM)
