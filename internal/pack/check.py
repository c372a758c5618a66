#!/usr/bin/env python3
"""Checks a package of plain files without the program that wrote it.

    python3 check.py [FOLDER]          the unpacked folder; default: where this script lies

It needs nothing but Python 3. It looks at two things:

1. MANIFEST names every file with its SHA-256, sorted by path, and MANIFEST.sha256 is
   the SHA-256 of MANIFEST. A file that is missing, added or altered is named.
2. journal.jsonl holds the entries of the journal, one JSON object a line. The hash of
   an entry is the SHA-256 over ten parts, each preceded by its length in bytes as an
   unsigned 64-bit number, the highest byte first:
       prev_hash          32 bytes, the hash of the entry before
       seq                8 bytes, signed, the highest byte first
       at_us              8 bytes, the same: microseconds since 1970-01-01T00:00:00Z
       entry_id, program_id, end_id, actor_id, actor, kind, body      UTF-8 text; null: no bytes
   An entry whose number follows that of the line before must carry its hash as
   prev_hash. Entries of other programs on the same server are not in the package, so
   numbers may be left out; where the body has "follows", it names the number and the
   hash of the entry before of the same program, which closes the gap.

The exit status is 0 where everything holds, 1 where something does not, 2 where the
package cannot be read.
"""
import hashlib
import json
import os
import struct
import sys


def sha256_of(path):
    h = hashlib.sha256()
    with open(path, "rb") as f:
        for block in iter(lambda: f.read(1 << 20), b""):
            h.update(block)
    return h.hexdigest()


def files_of(folder):
    for at, _, names in os.walk(folder):
        for name in names:
            full = os.path.join(at, name)
            yield os.path.relpath(full, folder).replace(os.sep, "/")


def check_files(folder, say):
    with open(os.path.join(folder, "MANIFEST"), "rb") as f:
        manifest = f.read()
    digest = hashlib.sha256(manifest).hexdigest()
    with open(os.path.join(folder, "MANIFEST.sha256"), encoding="ascii") as f:
        if f.read().split()[:1] != [digest]:
            say("MANIFEST", "is not the one that MANIFEST.sha256 was made of")
    listed, before = {}, ""
    for number, line in enumerate(manifest.decode("utf-8").splitlines(), 1):
        if len(line) < 67 or line[64:66] != "  ":
            say("MANIFEST", "line %d cannot be read" % number)
            continue
        name = line[66:]
        if name.encode() <= before.encode():
            say("MANIFEST", "line %d is out of order: %s" % (number, name))
        listed[name], before = line[:64], name
    there = set(files_of(folder)) - {"MANIFEST", "MANIFEST.sha256"}
    for name in sorted(listed):
        if name not in there:
            say(name, "is missing")
        elif sha256_of(os.path.join(folder, *name.split("/"))) != listed[name]:
            say(name, "was altered: its SHA-256 is not the one in MANIFEST")
    for name in sorted(there - set(listed)):
        say(name, "was added: MANIFEST does not name it")
    return len(listed), digest


def hash_of(e):
    def number(v):
        return struct.pack(">q", v)

    def text(v):
        return b"" if v is None else v.encode("utf-8")

    h = hashlib.sha256()
    for part in (bytes.fromhex(e["prev_hash"]), number(e["seq"]), number(e["at_us"]), text(e["entry_id"]), text(e["program_id"]),
                 text(e["end_id"]), text(e["actor_id"]), text(e["actor"]), text(e["kind"]), text(e["body"])):
        h.update(struct.pack(">Q", len(part)))
        h.update(part)
    return h.hexdigest()


def check_journal(folder, say):
    path = os.path.join(folder, "journal.jsonl")
    entries, open_gaps, last, hashes = 0, 0, None, {}
    with open(path, encoding="utf-8", newline="\n") as f:
        for number, line in enumerate(f, 1):
            where = "journal.jsonl line %d" % number
            try:
                e = json.loads(line)
                where = "journal entry %d" % e["seq"]
                if hash_of(e) != e["hash"]:
                    say(where, "its content does not have its hash")
                follows = json.loads(e["body"]).get("follows")
            except (ValueError, KeyError, TypeError, AttributeError, struct.error) as err:
                say(where, "cannot be read: %s" % err)
                continue
            entries += 1
            if last and e["seq"] <= last["seq"]:
                say(where, "does not come after entry %d" % last["seq"])
            elif last and e["seq"] == last["seq"] + 1 or not last and e["seq"] == 1:
                if e["prev_hash"] != (last["hash"] if last else "0" * 64):
                    say(where, "does not follow the entry before it")
            elif not follows:
                open_gaps += 1
            if follows and follows["seq"] and e["program_id"] and (not e["partial"] or follows["seq"] in hashes):
                if hashes.get(follows["seq"]) != follows["hash"]:
                    say(where, "the entry that it follows, %d, is missing or another" % follows["seq"])
            hashes[e["seq"]] = e["hash"]
            last = e
    return entries, open_gaps, last


def main():
    folder = sys.argv[1] if len(sys.argv) > 1 else os.path.dirname(os.path.abspath(__file__))
    wrong = []

    def say(where, what):
        wrong.append(where)
        print("%s: %s" % (where, what))

    try:
        files, digest = check_files(folder, say)
        entries, gaps, last = check_journal(folder, say)
    except (OSError, ValueError) as err:
        print("the package cannot be read: %s" % err)
        return 2
    print("%d files, SHA-256 of MANIFEST %s" % (files, digest))
    print("%d journal entries, hash of the last %s" % (entries, last["hash"] if last else "none"))
    if gaps:
        print("%d gaps in the numbers were left by entries that are not in this package and cannot be checked from it" % gaps)
    print("%d faults found" % len(wrong) if wrong else "everything is as it was written")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
