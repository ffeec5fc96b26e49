"""Runs every table of one cases file and prints one line a case. Works on CPython and on MicroPython.

Usage: INTERPRETER run_tables.py cases_module FIRMWARE_FOLDER CASES_FOLDER
Prints `ok <table>[<n>]` or `FAIL <table>[<n>]: <error>`, then `ran <count>`.
"""

import sys


def run(module_name: str) -> int:
    module = __import__(module_name)
    count = failed = 0
    for table in sorted(module.TABLES):
        check, cases = module.TABLES[table]
        for index, case in enumerate(cases):
            count += 1
            try:
                check(*case)
                print("ok %s[%d]" % (table, index))
            except Exception as error:  # every failure of any kind is a line of the report
                failed += 1
                print("FAIL %s[%d]: %s: %s" % (table, index, type(error).__name__, error))
    print("ran %d" % count)
    return failed


if __name__ == "__main__":
    sys.path.insert(0, sys.argv[2])
    sys.path.insert(0, sys.argv[3])
    sys.exit(1 if run(sys.argv[1]) else 0)
