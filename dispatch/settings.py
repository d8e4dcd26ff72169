"""Every setting there is, each read from an environment variable that begins with DISPATCH_.

Settings are an argument: they are read once, at the edge, and handed down. To add one, add a
field with its description here; `dispatch settings` prints the list.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, tzinfo
from pathlib import Path
from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo, available_timezones

from dateutil.tz import tzlocal
from pydantic import Field, ValidationError, field_validator
from pydantic_core import ErrorDetails
from pydantic_settings import BaseSettings, NoDecode, SettingsConfigDict

from dispatch.closed_days import HolidayRule
from dispatch.errors import SettingsError

ENV_PREFIX = "DISPATCH_"


def _default_database_url(fields: dict[str, Any]) -> str:
    return f"sqlite:///{fields['data_dir'] / 'dispatch.sqlite'}" if "data_dir" in fields else ""


class Settings(BaseSettings):
    """What an installation may choose; `load_settings` reads it with readable errors."""

    model_config = SettingsConfigDict(env_prefix=ENV_PREFIX, frozen=True, extra="forbid")

    data_dir: Path = Field(
        default=Path("data"),
        description="Folder of the database, the street map, the drive-time cache and the log.",
    )
    database_url: str = Field(
        default_factory=_default_database_url,
        description="SQLAlchemy address of the SQLite database; dispatch.sqlite in the data folder "
        "when not set.",
    )
    country: str | None = Field(
        default="US",
        description="ISO 3166-1 code of the country whose public holidays are days without visits; "
        "empty for none.",
    )
    subdivision: str | None = Field(
        default=None,
        description="ISO 3166-2 part of the country, as CA, for holidays kept only there.",
    )
    holidays_worked: Annotated[tuple[str, ...], NoDecode] = Field(
        default=(),
        description="Names of public holidays on which visits are made all the same, separated by "
        "semicolons, as Columbus Day;Veterans Day.",
    )
    holiday_rule: HolidayRule = Field(
        default=HolidayRule.NEAREST,
        description="What becomes of a visit whose usual day is a public holiday: nearest (an open "
        "day beside it), day-before, day-after or skip (left out).",
    )
    time_zone: str | None = Field(
        default=None,
        description="IANA time zone that decides what day it is, as America/Phoenix; the machine's "
        "own when not set.",
    )
    map_credit: str = Field(
        default="© OpenStreetMap contributors",
        description="Credit shown on the map; OpenStreetMap's licence asks for the default.",
    )
    geocoder: Literal["nominatim"] | None = Field(
        default=None,
        description="Online geocoder asked for addresses the street map does not hold; none when "
        "not set.",
    )
    geocoder_domain: str = Field(
        default="nominatim.openstreetmap.org",
        min_length=1,
        description="Host (and port) of the online geocoder.",
    )
    geocoder_scheme: Literal["https", "http"] = Field(
        default="https", description="How the online geocoder is reached."
    )
    overpass_url: str = Field(
        default="https://overpass-api.de/api",
        min_length=1,
        description="Overpass service asked by 'dispatch map build --place' and '--bbox'.",
    )
    map_unpacked_limit_gb: float = Field(
        default=64.0,
        gt=0,
        description="Size in GB (10^9 bytes) unpacked above which an extract is refused.",
    )
    map_upload_limit_gb: float = Field(
        default=4.0,
        gt=0,
        description="Size in GB (10^9 bytes) above which an extract uploaded to the service is "
        "refused.",
    )
    default_iterations: int | None = Field(
        default=None,
        ge=1,
        description="Iterations of the planning search; chosen by the week's size when not set.",
    )
    seed: int = Field(
        default=1,
        ge=0,
        le=2**31 - 1,
        description="Seed of the planning search: same inputs, seed and iterations, same plan.",
    )
    search_runs: int = Field(
        default=2,
        ge=1,
        le=16,
        description="Planning searches side by side, one for each core; the best plan is kept. "
        "Part of what decides a plan, like the seed.",
    )

    use_learnt_minutes: bool = Field(
        default=False,
        description="Whether weeks are planned with the minutes learnt from records instead of "
        "those agreed; off, because a company should look at planned against actual first.",
    )
    photo_limit_mb: float = Field(
        default=10.0,
        gt=0,
        description="Size in MB (10^6 bytes) above which a photo of a visit is refused.",
    )

    fixed_today: date | None = Field(
        default=None,
        description="Day to take for today, as 2026-11-25, to rehearse with; the real one when not "
        "set.",
    )

    @field_validator("holidays_worked", mode="before")
    @classmethod
    def _names_are_separated(cls, value: object) -> object:
        if isinstance(value, str):
            return tuple(name.strip() for name in value.split(";") if name.strip())
        return value

    @field_validator(
        "country", "subdivision", "time_zone", "geocoder", "fixed_today", mode="before"
    )
    @classmethod
    def _empty_is_none(cls, value: object) -> object:
        return None if value == "" else value

    @field_validator("country")
    @classmethod
    def _country_is_known(cls, value: str | None) -> str | None:
        import holidays  # takes longer than all other settings together

        if value is not None and value not in holidays.list_supported_countries():
            raise ValueError(
                "no calendar of public holidays is known for it; write US, for instance"
            )
        return value

    @field_validator("time_zone")
    @classmethod
    def _zone_is_known(cls, value: str | None) -> str | None:
        if value is not None and value not in available_timezones():
            raise ValueError("there is no such time zone; write it as America/Phoenix")
        return value

    @field_validator("database_url")
    @classmethod
    def _database_is_sqlite(cls, value: str) -> str:
        if not value.startswith("sqlite:///"):
            raise ValueError("only SQLite is supported; write it as sqlite:///folder/file.sqlite")
        return value

    @property
    def map_dir(self) -> Path:
        """Folder of the built street map."""
        return self.data_dir / "map"

    @property
    def matrix_dir(self) -> Path:
        """Folder of the drive-time matrices kept on disk."""
        return self.data_dir / "matrix"

    @property
    def factors_file(self) -> Path:
        """File of the drive-time factors by region and time of day, see `drive.factors`."""
        return self.data_dir / "drive_factors.json"

    @property
    def log_file(self) -> Path:
        """File that takes the details of what went wrong unexpectedly."""
        return self.data_dir / "dispatch.log"

    def today(self) -> date:
        """The day it is now in the company's time zone; only here is the calendar looked at."""
        if self.fixed_today is not None:
            return self.fixed_today
        return datetime.now(self.zone).date()

    def now(self) -> datetime:
        """The moment it is, in UTC; the end of the day when a fixed one is rehearsed with."""
        if self.fixed_today is not None:
            return datetime.combine(self.fixed_today, time(23, 59, 59), self.zone).astimezone(UTC)
        return datetime.now(UTC)

    @property
    def zone(self) -> tzinfo:
        """The company's time zone; the machine's own when none is set."""
        return tzlocal() if self.time_zone is None else ZoneInfo(self.time_zone)

    @property
    def photos_dir(self) -> Path:
        """Folder of the photos of visits."""
        return self.data_dir / "photos"

    def in_folder(self, name: str) -> Settings:
        """The same settings with data folder and database moved into the subfolder `name`."""
        data_dir = self.data_dir / name
        database_url = _default_database_url({"data_dir": data_dir})
        return self.model_copy(update={"data_dir": data_dir, "database_url": database_url})


def load_settings(**given: Any) -> Settings:
    """Read the settings from the environment; what is `given` by name goes before it.

    Raises
    ------
    SettingsError
        Naming each variable whose value cannot be used, the value and what is wrong with it.
    """
    try:
        return Settings(**given)
    except ValidationError as error:
        raise SettingsError(" ".join(_sentence(detail) for detail in error.errors())) from error


def _sentence(detail: ErrorDetails) -> str:
    """One broken setting in words."""
    name = ENV_PREFIX + str(detail["loc"][0]).upper()
    reason = detail["msg"].removeprefix("Value error, ")
    return f"The setting {name} is '{detail['input']}': {reason[0].lower()}{reason[1:]}."
