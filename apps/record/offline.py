"""Checking a bundle on somebody's own computer: standard library only, no network, no trust in the server that made it.

Together with canonical.py, merkle.py and ed25519.py this becomes the verify.py of every bundle. A bundle's folder holds head.json
(signed head), entries.jsonl (the canonical text of each entry, a line each), proofs.json (paths by entry number; absent where every
entry is there), heads.json (earlier heads with proofs that the record of head.json begins with theirs), rows.jsonl (table, key and
columns of rows), and photos/ and papers/ with sealed originals named by their hash.
"""

import json
import sys
from hashlib import sha256
from pathlib import Path
from typing import Any

from apps.record.canonical import canonical
from apps.record.ed25519 import is_signed
from apps.record.merkle import append, consistent, leaf_hash, root, root_from_inclusion


class Checked:
    """What a check came to: sentences of what holds, and of what does not."""

    def __init__(self) -> None:
        """Begin with nothing said."""
        self.holds: list[str] = []
        self.faults: list[str] = []

    def say(self, fault: str, holds: str) -> None:
        """Note a fault if there is one, else what holds."""
        if fault:
            self.faults.append(fault)
        else:
            self.holds.append(holds)


def _json(folder: Path, name: str) -> Any:
    file = folder / name
    return json.loads(file.read_text("utf-8")) if file.exists() else None


def _lines(folder: Path, name: str) -> list[str]:
    file = folder / name
    return [line for line in file.read_text("utf-8").split("\n") if line] if file.exists() else []


def _signed(head: Any) -> bool:
    """Say whether a head is signed by the key that it names."""
    key, signature = bytes.fromhex(head["statement"]["key"]), bytes.fromhex(head["signature"])
    return is_signed(key, canonical(head["statement"]).encode(), signature)


def _leaves(texts: list[str], said: Checked) -> dict[int, bytes]:
    """Return the leaf hash of each entry by its number; a text that is not canonical is a fault."""
    found = {}
    for text in texts:
        entry = json.loads(text)
        if canonical(entry) != text:
            said.faults.append(f"Entry {entry['sequence']} is not written in canonical form.")
        found[entry["sequence"]] = leaf_hash(text.encode())
    return found


def _roots(leaves: dict[int, bytes]) -> list[bytes]:
    """Return the root over the first n leaves, for every n: of entries 1, 2, 3 … without a gap."""
    tops: list[bytes] = []
    found = [root(tops)]
    for place in range(len(leaves)):
        tops, _ = append(place, tops, leaves[place + 1])
        found.append(root(tops))
    return found


def _included(folder: Path, head: Any, leaves: dict[int, bytes], said: Checked) -> list[bytes]:
    """Check that every entry is in the record of the head. Returns all roots where the bundle holds every entry, else none."""
    size, expected = head["statement"]["size"], bytes.fromhex(head["statement"]["root"])
    if sorted(leaves) == list(range(1, size + 1)):
        roots = _roots(leaves)
        fault = "" if roots[size] == expected else "The entries do not lead to the root of the head: one was changed."
        said.say(fault, f"All {size} entries of the record are here, none was left out, changed or moved.")
        return roots
    paths = (_json(folder, "proofs.json") or {}).get("paths", {})
    wrong = []
    for sequence, leaf in sorted(leaves.items()):
        try:
            path = [bytes.fromhex(step) for step in paths[str(sequence)]]
            if root_from_inclusion(sequence - 1, size, leaf, path) != expected:
                wrong.append(sequence)
        except (KeyError, ValueError):
            wrong.append(sequence)
    fault = f"Not in the record of the head as they stand here: entries {_numbers(wrong)}." if wrong else ""
    said.say(
        fault, f"Each of the {len(leaves)} entries here is in the record of {size} entries, unchanged, at its place."
    )
    return []


def _numbers(found: list[int]) -> str:
    return ", ".join(str(each) for each in found[:10]) + (f" and {len(found) - 10} more" if len(found) > 10 else "")


def _keys(texts: list[str], head: Any, first: str, said: Checked) -> None:
    """Follow the key from the one that the record began with to the one that signed the head."""
    entries = [json.loads(text) for text in texts if '"record_key"' in text or '"change_key"' in text]
    key = next((each["payload"]["record_key"] for each in entries if each["act"] == "open_corridor"), "")
    if first:
        said.say(
            ""
            if key == first
            else f"The record began with key {key[:16] or 'unknown'}, not with the one that you gave.",
            "The record began with the key that you gave.",
        )
    for each in entries:
        if each["act"] != "change_key":
            continue
        change, where = each["payload"], f"entry {each['sequence']}"
        handover = canonical({"log": each["log"], "new_key": change["new"]}).encode()
        if change["old"] != key:
            said.faults.append(f"The change of the key in {where} does not follow the key before it.")
        elif change["handover"] and not is_signed(bytes.fromhex(key), handover, bytes.fromhex(change["handover"])):
            said.faults.append(f"The change of the key in {where} is not signed by the key before it.")
        else:
            how = "handed over by the old key" if change["handover"] else "NOT handed over: the old key was lost"
            said.holds.append(f"The key changed in {where}, {how}.")
        key = change["new"]
    if key and key != head["statement"]["key"]:
        said.faults.append("The head is signed by another key than the one in force by the entries here.")


def _earlier(folder: Path, head: Any, roots: list[bytes], kept: Any, said: Checked) -> None:
    """Check that the record begins with what earlier heads cover; `kept` is one that the reader kept."""
    others = _json(folder, "heads.json") or []
    wrong = [each["statement"]["size"] for each in others if not _begins(each, head, roots)]
    if others:
        fault = (
            f"The record does not begin with what earlier heads cover: at {_numbers(wrong)} entries." if wrong else ""
        )
        said.say(fault, f"The record begins with what each of {len(others)} earlier signed heads covers.")
    if kept is None:
        return
    proofs = [each["proof"] for each in others if each["statement"] == kept["statement"]]
    mine = {**kept, "proof": proofs[0] if proofs else []}
    size = kept["statement"]["size"]
    if not roots and not proofs and kept["statement"] != head["statement"]:
        said.faults.append(
            f"This bundle holds no proof for the head that you kept, of {size} entries. Ask for one, or for the whole record."
        )
        return
    fault = (
        "" if _begins(mine, head, roots) else f"The record does NOT begin with the {size} entries of the head you kept."
    )
    said.say(fault, f"The record begins with the {size} entries of the head that you kept, unchanged.")


def _begins(earlier: Any, head: Any, roots: list[bytes]) -> bool:
    old, new = earlier["statement"], head["statement"]
    if old["log"] != new["log"] or old["size"] > new["size"] or not _signed(earlier):
        return False
    before, now = bytes.fromhex(old["root"]), bytes.fromhex(new["root"])
    if roots:
        return roots[int(old["size"])] == before
    return consistent(old["size"], new["size"], before, now, [bytes.fromhex(step) for step in earlier["proof"]])


def _rows(folder: Path, texts: list[str], said: Checked) -> None:
    """Hold each row against the last entry here that names it."""
    named: dict[tuple[str, str], tuple[str, int]] = {}
    for text in texts:
        entry = json.loads(text)
        for table, rows in entry.get("rows", {}).items():
            named.update({(table, key): (digest, entry["sequence"]) for key, digest in rows.items()})
    wrong, unnamed, number = [], 0, 0
    for line in _lines(folder, "rows.jsonl"):
        row = json.loads(line)
        place = (row["table"], row["key"])
        columns = {name: value for name, value in row["columns"].items() if not name.endswith("entry")}
        number += 1
        if place not in named:
            unnamed += 1
        elif sha256(canonical(columns).encode()).hexdigest() != named[place][0]:
            wrong.append(f"{row['table']} {row['key']} (entry {named[place][1]})")
    if number:
        fault = f"Rows that are not what their entry says: {'; '.join(wrong[:10])}." if wrong else ""
        said.say(fault, f"{number - unnamed} rows of data are what the entries say that was written.")
    if unnamed:
        said.faults.append(f"{unnamed} rows are named by no entry here.")


def photos_named(payload: Any) -> list[str]:
    """Return the SHA-256 of each photo that an entry names."""
    photos = payload.get("photos")
    return list(photos.values()) if isinstance(photos, dict) else []


def papers_named(payload: Any) -> list[str]:
    """Return the SHA-256 of the file of a paper that an entry names, alone in a list; none where only its facts were entered."""
    paper = payload.get("paper")
    return [paper["sha256"]] if isinstance(paper, dict) and "sha256" in paper else []


def _originals(folder: Path, texts: list[str], said: Checked) -> None:
    """Hold sealed originals of photos and papers against the hashes that entries name."""
    for kind, names in (("photos", photos_named), ("papers", papers_named)):
        named = {digest for text in texts for digest in names(json.loads(text)["payload"])}
        files = sorted((folder / kind).glob("original-*")) if (folder / kind).exists() else []
        wrong = [each.name for each in files if sha256(each.read_bytes()).hexdigest() not in named]
        if files:
            fault = f"{kind.capitalize()} whose bytes no entry names: {', '.join(wrong[:5])}." if wrong else ""
            said.say(fault, f"{len(files)} {kind} are the very files that were sealed.")


def check(folder: Path, *, first_key: str = "", kept: Any = None) -> Checked:
    """Check a bundle's folder. `first_key` (hex) and `kept` (a head) are what the reader has from elsewhere."""
    said, head = Checked(), _json(folder, "head.json")
    texts = _lines(folder, "entries.jsonl")
    if head is None or not texts:
        said.faults.append("This folder is no bundle: head.json or entries.jsonl is missing.")
        return said
    stated = head["statement"]
    said.say(
        "" if _signed(head) else "The head is NOT signed by the key that it names.",
        f"The head of {stated['origin']}, {stated['size']} entries, {stated['at']}, is signed by key {stated['key'][:16]}.",
    )
    roots = _included(folder, head, _leaves(texts, said), said)
    _keys(texts, head, first_key, said)
    _earlier(folder, head, roots, kept, said)
    _rows(folder, texts, said)
    _originals(folder, texts, said)
    return said


USAGE = "python3 verify.py [--key FIRST_KEY] [--head KEPT_HEAD.json] [FOLDER]"
NOT_SHOWN = (
    (
        "What this does not show: that a reading was true; that nothing happened which nobody entered; and, unless you gave a key "
        "and a head that you had from elsewhere, that this is the record of that day and not another one made later as a whole."
    ),
    (
        "Nor were the tables and dossiers looked at, which are made for reading (files ending in .csv, .pdf and .txt beside the "
        "record): what is checked are the entries, their rows, and the photos and papers that they name."
    ),
    "A part of a record shows that its entries are in it. That no further entry names the station, only the whole record shows.",
)


def main(arguments: list[str]) -> int:
    """Check from a terminal; 0 when everything holds."""
    first_key, kept, folder = "", None, Path(__file__).resolve().parent
    left = list(arguments)
    try:
        while left:
            word = left.pop(0)
            if word == "--key":
                first_key = left.pop(0)
            elif word == "--head":
                kept = json.loads(Path(left.pop(0)).read_text("utf-8"))
            elif word.startswith("-"):
                raise IndexError
            else:
                folder = Path(word)
    except (IndexError, OSError, ValueError):
        sys.stderr.write(f"{USAGE}\n")
        return 2
    said = check(folder, first_key=first_key, kept=kept)
    for sentence in said.holds:
        sys.stdout.write(f"holds  {sentence}\n")
    for sentence in said.faults:
        sys.stdout.write(f"FAULT  {sentence}\n")
    sys.stdout.write("\n" + ("NOT whole." if said.faults else "Whole, as far as this bundle can show.") + "\n\n")
    sys.stdout.write("\n".join(NOT_SHOWN) + "\n")
    return 1 if said.faults else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
