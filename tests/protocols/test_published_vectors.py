"""Values that others publish for trees and canonical JSON, so that their programs agree.

Proofs: github.com/transparency-dev/merkle, testdata, the `happy-path` probes and the ways in
which its other probes spoil them (Apache-2.0). JSON: testdata of
github.com/cyberphone/json-canonicalization, which RFC 8785 repeats in part (Apache-2.0).
"""

import base64
import json

import pytest
import rfc8785

from protocols.tree import verify_consistency, verify_inclusion


def raw(text):
    return base64.b64decode(text)


ROOTS = {
    1: raw("bjQLnP+zepicpUTmu3gKLHiQHT+zNzh2hRGjBhevoB0="),
    2: raw("+sVCA+fMaWzw38tCySodnbr3CtnmIfS9jZhmLwDjwSU="),
    3: raw("rra8/idLcKFPsGel5VeCZNsPqbUa9eC6FZFY8yngbnc="),
    5: raw("Tju7H3tHjc/nH7YxYxUZo7yhLJrvyhYSv85ME6hiZNQ="),
    6: raw("duZ9rbzfHhDht03cYIq9L5jfsW+851J3tSMqEn8gh+8="),
    8: raw("XcnaeacGWamtVZy3Ad7ZoqudgjqtL0lgz+Nw7/RgQyg="),
}
FOURTH = "vBoGQ7EuTS18d5GPROD095qDi2z57FtcKD4fTYhZnms="
SECOND = "lqKW0iTyhcZ77pPDD4owkVfw2qNdxbh+QQt4YwoJz8c="
PAIR = "Xwg/ChozygdqlSeYMlgNs+DvRYS9/x9UyKNg9Q3jAx4="
LAST = "yoVOoSjtBQtBs1/8G4e46yveRh6eO1WW7Oa51ZdaCuA="
LEFT = "037kGJdt2VdTwcc4Yrk5j6Kiz5tP8P3+izDNlSCWFLc="
RIGHT = "a0eq8p7jwq+a+Im8H7klTavTEXfxYjLdaqsDXKOb9uQ="
# Index, size, leaf hash, proof.
INCLUDED = [
    (0, 8, "bjQLnP+zepicpUTmu3gKLHiQHT+zNzh2hRGjBhevoB0=", (SECOND, PAIR, RIGHT)),
    (5, 8, "QnGia+DYqE8L1UyMMC58s6O10fpngKQLzOKHNHfatlg=", (FOURTH, LAST, LEFT)),
    (
        2,
        3,
        "ApjRIpBtz8EIkstTpzmS/FufST6kybrbJ7eRtBJ6f+c=",
        ("+sVCA+fMaWzw38tCySodnbr3CtnmIfS9jZhmLwDjwSU=",),
    ),
    (1, 5, SECOND, ("bjQLnP+zepicpUTmu3gKLHiQHT+zNzh2hRGjBhevoB0=", PAIR, FOURTH)),
]
# The older size, the newer, proof.
GROWN = [
    (1, 8, (SECOND, PAIR, RIGHT)),
    (6, 8, ("DrxdNDf74tsVi58Sah0RjjCBgQMdCpSfje3t68VY72o=", LAST, LEFT)),
    (2, 5, (PAIR, FOURTH)),
]


def spoilt(proof, *roots):
    """The same proof cut off, longer at either end, or with one bit turned over."""
    proof = tuple(map(raw, proof))
    yield ()
    yield proof[:-1]
    for one in (b"", b"\x00" * 32, *roots):
        yield (*proof, one)
        yield (one, *proof)
    for n, one in enumerate(proof):
        yield (*proof[:n], bytes([one[0] ^ 16]) + one[1:], *proof[n + 1 :])


@pytest.mark.parametrize(("index", "size", "leaf", "proof"), INCLUDED)
def test_published_proofs_of_inclusion_verify_and_spoilt_ones_do_not(index, size, leaf, proof):
    leaf, root, path = raw(leaf), ROOTS[size], tuple(map(raw, proof))

    assert verify_inclusion(leaf, index, size, path, root)
    for other in (index - 1, index + 1, index ^ 2, size, -1):
        assert not verify_inclusion(leaf, other, size, path, root)
    for other in (size * 2, size // 2, 0):
        assert not verify_inclusion(leaf, index, other, path, root)
    for other in (b"", b"\x00" * 32, leaf + b"\x00", root):
        assert not verify_inclusion(other, index, size, path, root)
    for other in (b"", b"\x00" * 32, leaf):
        assert not verify_inclusion(leaf, index, size, path, other)
    for other in spoilt(proof, leaf, root):
        assert not verify_inclusion(leaf, index, size, other, root)


@pytest.mark.parametrize(("older", "newer", "proof"), GROWN)
def test_published_proofs_of_consistency_verify_and_spoilt_ones_do_not(older, newer, proof):
    first, second, path = ROOTS[older], ROOTS[newer], tuple(map(raw, proof))

    assert verify_consistency(older, newer, first, second, path)
    for other in (older - 1, older + 1, older ^ 2):
        assert not verify_consistency(other, newer, first, second, path)
    for other in (newer * 2, newer // 2):
        assert not verify_consistency(older, other, first, second, path)
    assert not verify_consistency(older, newer, second, first, path)
    for other in (b"", b"\x00" * 32):
        assert not verify_consistency(older, newer, other, second, path)
        assert not verify_consistency(older, newer, first, other, path)
    for other in spoilt(proof, first, second):
        assert not verify_consistency(older, newer, first, second, other)


CANONICAL = {
    "arrays": (
        '[56, {"d": true, "10": null, "1": [ ]}]',
        '[56,{"1":[],"10":null,"d":true}]',
    ),
    "french": (
        '{"peach": 1, "p\u00e9ch\u00e9": 2, "p\u00eache": 3, "sin": 4}',
        '{"peach":1,"p\u00e9ch\u00e9":2,"p\u00eache":3,"sin":4}',
    ),
    "structures": (
        '{"1": {"f": {"f": "hi","F": 5} ,"\\n": 56.0}, "10": { }, "": "empty", "a": { }, '
        '"111": [ { } ], "A": { }}',
        '{"":"empty","1":{"\\n":56,"f":{"F":5,"f":"hi"}},"10":{},"111":[{}],"A":{},"a":{}}',
    ),
    "unicode": ('{"Unnormalized Unicode":"A\u030a"}', '{"Unnormalized Unicode":"A\u030a"}'),
    "values": (
        '{"numbers": [1E30, 4.50, 333333333.33333329, 2e-3, 0.000000000000000000000000001], '
        '"escaping": "\\u20ac$\\u000F\\u000aA\'\\u0042\\u0022\\u005c\\\\\\"\\/", '
        '"literals": [null, true, false]}',
        '{"escaping":"\u20ac$\\u000f\\nA\'B\\"\\\\\\\\\\"/","literals":[null,true,false],'
        '"numbers":[1e+30,4.5,333333333.3333333,0.002,1e-27]}',
    ),
    "weird": (
        '{"\\u20ac": 1, "1": 2, "\\u0080": "Control\\u007f", "\\ud83d\\ude02": 3, '
        '"\\u00f6": 4, "\\ufb33": 5, "</script>": 6}',
        '{"1":2,"</script>":6,"\u0080":"Control\u007f","\u00f6":4,"\u20ac":1,'
        '"\U0001f602":3,"\ufb33":5}',
    ),
}


@pytest.mark.parametrize("name", CANONICAL)
def test_published_json_has_its_published_canonical_form(name):
    given, canonical = CANONICAL[name]

    assert rfc8785.dumps(json.loads(given)).decode() == canonical
