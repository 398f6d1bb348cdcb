#!/usr/bin/env python3
"""Holds the schema of scenario files against the reader, by an independent validator (jsonschema, draft 2020-12).

usage: schema.py [FILES]       (FILES: what the example `scenarios` writes; standard input without)

The schema must be a valid one, accept every file that the reader accepts, and refuse every file whose mistake it can express (`must`) and that
the reader refuses. Leaves with 1 where one differs, or where fewer than 5 000 files were held against it.
"""
import json
import sys

from jsonschema import Draft202012Validator

LEAST = 5000


def main(words):
    source = open(words[0], encoding="utf-8") if words else sys.stdin
    schema = json.loads(next(source))
    Draft202012Validator.check_schema(schema)
    if schema["$schema"] != Draft202012Validator.META_SCHEMA["$id"]:
        print(f"the schema says it is of {schema['$schema']}")
        return 1
    validator = Draft202012Validator(schema)
    files = read = refused = beyond = wrong = 0
    for line in source:
        one = json.loads(line)
        fits = validator.is_valid(one["file"])
        files += 1
        read += one["read"]
        refused += not one["read"] and not fits
        beyond += not one["read"] and fits
        if one["read"] and not fits:
            why = next(validator.iter_errors(one["file"])).message
            print(f"{one['name']}: read, but the schema refuses it: {why[:200]}")
            wrong += 1
        elif one["must"] and not one["read"] and fits:
            print(f"{one['name']}: refused by the reader, but the schema accepts it: {json.dumps(one['file'])[:200]}")
            wrong += 1
    print(f"{files} files: {read} read, {refused} refused by both, {beyond} whose mistake no schema tells; {wrong} differ")
    if files < LEAST:
        print(f"fewer than {LEAST} files: nothing is shown")
        return 1
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
