"""Days that callers name, in JSON, in forms and behind a question mark."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from pydantic import AfterValidator

from dispatch.clock import named_day

NamedDay = Annotated[date, AfterValidator(named_day)]
