#!/usr/bin/env python3
"""Checks bags by RFC 8493 alone: python3 check_bag.py BAG...

Written from the RFC and from nothing else, so that it shares no mistake with
the program that makes the bags. Prints what is wrong, one line each; the exit
code is 1 if anything is. Sections are those of RFC 8493.
"""
import hashlib
import os
import re
import sys

complaints = []


def complain(bag, text):
    complaints.append(f"{bag}: {text}")


def files_below(bag):
    found = set()
    for folder, subfolders, names in os.walk(bag):
        for name in names:
            path = os.path.join(folder, name)
            if os.path.islink(path) or not os.path.isfile(path):
                complain(bag, f"{path} is no ordinary file")
            found.add(os.path.relpath(path, bag).replace(os.sep, "/"))
        for name in subfolders:
            if os.path.islink(os.path.join(folder, name)):
                complain(bag, f"{name} is a link")
    return found


def read(bag, name):
    with open(os.path.join(bag, name), "rb") as f:
        return f.read()


def text_lines(bag, name):
    data = read(bag, name)
    if data.startswith(b"\xef\xbb\xbf"):
        complain(bag, f"{name} begins with a byte-order mark (2.1.1)")
    text = data.decode("utf-8")
    return [line for line in re.split(r"\r\n|\n|\r", text) if line != ""]


def check_declaration(bag, files):
    # 2.1.1: exactly two lines.
    if "bagit.txt" not in files:
        return complain(bag, "there is no bagit.txt (2.1.1)")
    lines = text_lines(bag, "bagit.txt")
    if lines != ["BagIt-Version: 1.0", "Tag-File-Character-Encoding: UTF-8"]:
        complain(bag, f"bagit.txt is {lines} (2.1.1)")


def manifest(bag, name):
    """The sums of a manifest by path (2.1.3)."""
    sums = {}
    for line in text_lines(bag, name):
        m = re.fullmatch(r"([0-9a-fA-F]+)[ \t]+(.+)", line)
        if not m:
            complain(bag, f"{name}: bad line {line!r} (2.1.3)")
            continue
        path = m.group(2)
        for code, char in (("%0A", "\n"), ("%0a", "\n"), ("%0D", "\r"), ("%0d", "\r"), ("%25", "%")):
            path = path.replace(code, char)
        parts = path.split("/")
        if path.startswith(("/", "~")) or ".." in parts or "." in parts or "" in parts:
            complain(bag, f"{name}: unsafe path {path!r} (5)")
            continue
        if path in sums:
            complain(bag, f"{name}: {path!r} is listed twice")
        sums[path] = m.group(1).lower()
    return sums


def check_sums(bag, name, algorithm, sums, due):
    for path in sorted(due - set(sums)):
        complain(bag, f"{name} does not list {path!r}")
    for path, want in sorted(sums.items()):
        if path not in due:
            complain(bag, f"{name} lists {path!r}, which it should not or which is not there")
            continue
        if hashlib.new(algorithm, read(bag, path)).hexdigest() != want:
            complain(bag, f"{name}: {path!r} has another sum")


def check_info(bag, files):
    # 2.2.2: labels and values; Payload-Oxum is OCTETS.STREAMS.
    labels = {}
    for line in text_lines(bag, "bag-info.txt"):
        if line[0] in " \t":
            continue
        label, colon, value = line.partition(":")
        if not colon or not label or value[:1] not in (" ", "\t"):
            complain(bag, f"bag-info.txt: bad line {line!r} (2.2.2)")
        labels.setdefault(label, []).append(value.strip())
    for label in ("Bagging-Date", "Payload-Oxum", "Bag-Software-Agent", "External-Description", "External-Identifier"):
        if len(labels.get(label, [])) != 1:
            complain(bag, f"bag-info.txt: {label} stands {len(labels.get(label, []))} times")
    if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", labels.get("Bagging-Date", [""])[0]):
        complain(bag, "bag-info.txt: Bagging-Date is no YYYY-MM-DD (2.2.2)")
    payload = [f for f in files if f.startswith("data/")]
    octets = sum(os.path.getsize(os.path.join(bag, f)) for f in payload)
    if labels.get("Payload-Oxum") != [f"{octets}.{len(payload)}"]:
        complain(bag, f"bag-info.txt: Payload-Oxum is {labels.get('Payload-Oxum')}, not {octets}.{len(payload)} (2.2.2)")


def check(bag):
    files = files_below(bag)
    check_declaration(bag, files)
    if not os.path.isdir(os.path.join(bag, "data")):
        complain(bag, "there is no payload directory data/ (2.1.2)")
    payload = {f for f in files if f.startswith("data/")}
    manifests = {f for f in files if re.fullmatch(r"manifest-[a-z0-9]+\.txt", f)}
    tag_manifests = {f for f in files if re.fullmatch(r"tagmanifest-[a-z0-9]+\.txt", f)}
    if not manifests:
        complain(bag, "there is no payload manifest (2.1.3)")
    if {m.replace("manifest-", "") for m in manifests} != {"sha256.txt", "sha512.txt"}:
        complain(bag, f"the manifests are {sorted(manifests)}; SHA-256 and SHA-512 are due (2.4)")
    if {m.replace("tagmanifest-", "") for m in tag_manifests} != {"sha256.txt", "sha512.txt"}:
        complain(bag, f"the tag manifests are {sorted(tag_manifests)}")
    if "fetch.txt" in files:
        complain(bag, "there is a fetch.txt: the bag is not complete by itself (2.2.3)")
    for name in sorted(manifests):
        check_sums(bag, name, name[len("manifest-"):-4], manifest(bag, name), payload)
    # 2.2.1: a tag manifest lists the tag files, but no tag manifest.
    tags = files - payload - tag_manifests
    for name in sorted(tag_manifests):
        check_sums(bag, name, name[len("tagmanifest-"):-4], manifest(bag, name), tags)
    if "bag-info.txt" in files:
        check_info(bag, files)
    else:
        complain(bag, "there is no bag-info.txt")


for each in sys.argv[1:]:
    check(each)
for c in complaints:
    print(c)
sys.exit(1 if complaints else 0)
