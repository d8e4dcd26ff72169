"""Every route called with data that fits its description and data that does not: no 5xx.

`python -m tests.bench.hostile_calls --examples 20`
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from dispatch.actions.plan_week import plan_week
from tests.api.hostile import broken_by_description
from tests.signed_in import signed_in_client
from tests.town import TODAY, WEEK, build_town, fill_book, open_company


def main() -> None:
    """Make the calls, print what broke, end with 1 if anything did."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--examples", type=int, default=20)
    given = words.parse_args()
    with tempfile.TemporaryDirectory() as place:
        company = open_company(Path(place), service_works=False)
        build_town(company, Path(place))
        fill_book(company)
        plan_week(company.engine, company.settings, WEEK, today=TODAY, iterations=200)
        with signed_in_client(company.settings, raises=False) as client:
            broken = broken_by_description(client, given.examples)
        company.engine.dispose()
    for one in broken:
        print(one.status, one.call, one.answer)
    print(f"{len(broken)} calls broke the service")
    sys.exit(1 if broken else 0)


if __name__ == "__main__":
    main()
