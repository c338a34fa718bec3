"""The format of the record, in prose, with one entry worked through.

Somebody who has only this page, SHA-256, Ed25519 and a JSON parser can write the
other half. Each module opens with the exact form of its own part; this page
says how the parts fit. A test takes the worked example out of this text and
computes every byte of it again.

1. Canonical bytes (`canonical`)
--------------------------------

Everything that is hashed or signed is canonical JSON: UTF-8, keys sorted, no white
space, as RFC 8785 writes it. The profile is narrow: objects, lists, text, true,
false, null and integers up to 2^53 - 1; keys `[a-z][a-z0-9_]{0,63}`; text in Unicode
normal form C without control (but the line feed), invisible, private-use or
unassigned characters; at most 16 levels and 65,535 bytes. Decimal numbers are
text, so that 1042.50 keeps its last digit. A reader refuses bytes that are not
canonical; one record has one form.

2. Statement (`entry`, `form`)
------------------------------

A statement is what people say happened. It names who signs it, in which role and
meaning what; when it happened; which ledger it is for (`origin`, which ends in 16
random bytes); and its *basis*: the size and root of the ledger that the signers
saw. Each signature so vouches for all entries before it.

`class` says how many sign: `two` (two to four persons, the rule), `machine` (one
gateway), `single` (one person, in an emergency), `server` (nobody) and `genesis`
(the opening, by every first key). The opening fixes which kinds may be of a class
other than `two`.

3. Signatures and keys (`signing`)
----------------------------------

All signers sign the same statement: its SHA-256, together with the ledger's name,
the signer's own role and a nonce that is used once ever. A key is enrolled by
others, with a proof that its holder has it, and is valid for the entries after
its enrolment up to and including the one that ends it (`keyring`, `changes`).

4. Entry, chain and tree (`entry`, `merkle`)
--------------------------------------------

An entry is the statement, the signatures in the signers' order, and what the
server adds: `seq` from 0, `previous` (the leaf hash before; empty text at 0) and
`at`, its clock in UTC, which never falls; `clock_held` says that the clock had
gone back and the time before was kept. The canonical bytes of the entry are the
leaf. Those bytes are stored, and nothing is ever computed from anything else.

    leaf hash = SHA-256(0x00 || leaf)
    node hash = SHA-256(0x01 || left || right)

The root over all leaves is that of RFC 9162 section 2.1.

5. Who may sign what (`policy`)
-------------------------------

The policy, itself an entry, gives each kind a group of slots. Each slot must be
filled by another person in one of its roles, where wanted of different reporting
lines. The policy in force before an entry judges it. What was refused or lapsed
after a first signature is recorded whole, as `record.lapsed`.

6. Checkpoint, bundle, verification (`checkpoint`, `bundle`, `verify`)
----------------------------------------------------------------------

A checkpoint is the ledger's name, size and root, signed by the log's key, as a
C2SP signed note. A bundle is the whole ledger in a zip file. Whoever verifies it
brings a policy file and checkpoints of their own: a file cannot vouch for itself.

Unknown `format`, unknown `v` of a kind that decides who may sign, unknown
algorithm: "could not check", never "tampered".

A worked example
----------------

Two people of an invented mine weigh a hopper. Their keys are those of RFC 8032
section 7.1, tests 1 and 2, which everybody knows; they protect nothing. For
the sake of the example the ledger's first entry is taken to be empty: its leaf
hash is the published one of an empty leaf, and the root of size 1 is the same.

Lines that are indented and broken are one line each: join them without the
indent and the line ends.

The key ids:

    0_yzL5_Htmar_UFkLargW9iLvuzJP_Qwig0Hhkpvjgw
    HsDgtFvp-pIX4Gv8xLOU7tbOVUCbvb-y0VQS4uYSV0I

The statement:

    {"attachments":[],"basis":{"root":"bjQLnP+zepicpUTmu3gKLHiQHT+zNzh2hRGjBhe
    voB0=","size":1},"class":"two","corrects":null,"data":{"dry_mass_g":"1042.
    50","hopper":"H1","remark":"façade"},"entry_id":"0192f0c4-7a10-7c3e-9b5a-5
    d1f0a2b3c4d","format":1,"kind":"hopper.weighed","occurred_at":"2026-03-02T
    06:10:00+02:00","origin":"goldroom.example/larkfield/000102030405060708090
    a0b0c0d0e0f","signers":[{"key":"0_yzL5_Htmar_UFkLargW9iLvuzJP_Qwig0Hhkpvjg
    w","meaning":"weighed and recorded","person":"o.varga","role":"officer"},{
    "key":"HsDgtFvp-pIX4Gv8xLOU7tbOVUCbvb-y0VQS4uYSV0I","meaning":"witnessed",
    "person":"w.quill","role":"witness"}],"v":1}

Its SHA-256:

    8d3bafbbc7a2bd80fae3f0989494f3b4513aa60bb73738ba3b708d09735eadae

What o.varga signs, five lines, each ended by a line feed:

    goldroom.ledger/sign/v1
    goldroom.example/larkfield/000102030405060708090a0b0c0d0e0f
    officer
    8d3bafbbc7a2bd80fae3f0989494f3b4513aa60bb73738ba3b708d09735eadae
    AAAAAAAAAAAAAAAAAAAAAQ

The signature of o.varga:

    o3lFPrVbhFTA+WQuuwz5qWg8Aw1+xfrxM3Q1QJnCnHV4Bb40B5tDbvBxbF1VXuxZFplRmn6vxm
    +mk+1h2/LaBA==

The signature of w.quill, in the role `witness`, with the nonce
AAAAAAAAAAAAAAAAAAAAAg:

    TBJpGbRcitBSn7dPfX7qLlvgYzKUmAozFk7Kf8DOxSmAMIViGDiNnykiD9bB0Y5nsps4sJ6igx
    nHgpSH2rq2Cg==

The leaf:

    {"server":{"at":"2026-03-02T04:11:07.250001Z","previous":"bjQLnP+zepicpUTm
    u3gKLHiQHT+zNzh2hRGjBhevoB0=","seq":1},"signatures":[{"alg":"ed25519-file"
    ,"key":"0_yzL5_Htmar_UFkLargW9iLvuzJP_Qwig0Hhkpvjgw","nonce":"AAAAAAAAAAAA
    AAAAAAAAAQ","signature":"o3lFPrVbhFTA+WQuuwz5qWg8Aw1+xfrxM3Q1QJnCnHV4Bb40B
    5tDbvBxbF1VXuxZFplRmn6vxm+mk+1h2/LaBA=="},{"alg":"ed25519-file","key":"HsD
    gtFvp-pIX4Gv8xLOU7tbOVUCbvb-y0VQS4uYSV0I","nonce":"AAAAAAAAAAAAAAAAAAAAAg"
    ,"signature":"TBJpGbRcitBSn7dPfX7qLlvgYzKUmAozFk7Kf8DOxSmAMIViGDiNnykiD9bB
    0Y5nsps4sJ6igxnHgpSH2rq2Cg=="}],"statement":{"attachments":[],"basis":{"ro
    ot":"bjQLnP+zepicpUTmu3gKLHiQHT+zNzh2hRGjBhevoB0=","size":1},"class":"two"
    ,"corrects":null,"data":{"dry_mass_g":"1042.50","hopper":"H1","remark":"fa
    çade"},"entry_id":"0192f0c4-7a10-7c3e-9b5a-5d1f0a2b3c4d","format":1,"kind"
    :"hopper.weighed","occurred_at":"2026-03-02T06:10:00+02:00","origin":"gold
    room.example/larkfield/000102030405060708090a0b0c0d0e0f","signers":[{"key"
    :"0_yzL5_Htmar_UFkLargW9iLvuzJP_Qwig0Hhkpvjgw","meaning":"weighed and reco
    rded","person":"o.varga","role":"officer"},{"key":"HsDgtFvp-pIX4Gv8xLOU7tb
    OVUCbvb-y0VQS4uYSV0I","meaning":"witnessed","person":"w.quill","role":"wit
    ness"}],"v":1}}

Its leaf hash:

    f8eef7d3125dad3bc564c2a9caff6e490d69d8fb9a0d84d1ea4105a55904aa26

The root over the empty first leaf and this one:

    1033eb75f64a98e666da6f00cba213414ef5f90de0b228acb39fdce9ed8e3105

The text of a checkpoint of that size:

    goldroom.example/larkfield/000102030405060708090a0b0c0d0e0f
    2
    EDPrdfZKmOZm2m8Ay6ITQU71+Q3gsiiss5/c6e2OMQU=
"""
