"""The settings of an installation that have to do with running it; `dispatch.settings` adds them.

They are apart because whoever plans never needs them.
"""

from __future__ import annotations

import ipaddress
import os
from pathlib import Path
from typing import Annotated

from pydantic import Field, field_validator
from pydantic_settings import (
    BaseSettings,
    NoDecode,
    PydanticBaseSettingsSource,
    SettingsConfigDict,
    TomlConfigSettingsSource,
)

from dispatch.words import SOURCE, catalogues, known_language

FILE_VARIABLE = "DISPATCH_SETTINGS_FILE"
BRANCH_HERE = "{branch}"  # in an address: the name of the branch
BRANCHES = "branches"  # folder of the branches' own folders, below the data folder


class OperationSettings(BaseSettings):
    """Fields and sources: what is given by name, then the environment, then the file."""

    model_config = SettingsConfigDict(frozen=True, extra="forbid")

    branch: str = Field(
        default="",
        pattern=r"^([a-z][a-z0-9-]{0,39})?$",
        description="Branch that is served: its book, map and plans are kept apart from those of "
        "others, in a folder and (with PostgreSQL) a schema of its own; none when not set.",
    )
    language: str = Field(
        default=SOURCE,
        description="Language of the pages where a reader's browser asks for none that is there, "
        "and of what jobs write down: the code of a catalogue, as en.",
    )
    service_works: bool = Field(
        default=True,
        description="Whether 'dispatch serve' works at jobs itself; with PostgreSQL 'dispatch "
        "work' can do so instead, on as many machines as wanted.",
    )
    job_niceness: int = Field(
        default=10,
        ge=0,
        le=19,
        description="How far jobs step back for the pages when the machine is busy (0 not at all, "
        "19 most).",
    )
    jobs_at_once: int = Field(
        default=1,
        ge=1,
        le=64,
        description="Jobs that a process works on side by side.",
    )
    trusted_proxies: Annotated[tuple[str, ...], NoDecode] = Field(
        default=(),
        description="Addresses or networks of the proxies in front of the service, separated by "
        "semicolons; only their X-Forwarded-For and X-Forwarded-Proto are believed.",
    )
    metrics_token: str = Field(
        default="",
        description="Secret with which /metrics may be read from other machines (Authorization: "
        "Bearer ...); this machine needs none.",
    )
    online_private: bool = Field(
        default=False,
        description="Whether the online geocoder and the Overpass service may lie at private "
        "addresses, as one that the company runs itself.",
    )

    @field_validator("language")
    @classmethod
    def _language_has_a_catalogue(cls, value: str) -> str:
        found = known_language(value)
        if found is None:
            raise ValueError(f"there is no catalogue of '{value}'; there are {[*catalogues()]}")
        return found

    @field_validator("trusted_proxies", mode="before")
    @classmethod
    def _proxies_are_separated(cls, value: object) -> object:
        if isinstance(value, str):
            return tuple(part.strip() for part in value.split(";") if part.strip())
        return value

    @field_validator("trusted_proxies")
    @classmethod
    def _proxies_are_networks(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        for one in value:
            try:
                ipaddress.ip_network(one)
            except ValueError as error:
                raise ValueError(
                    f"'{one}' is no address or network; write 127.0.0.1 or 10.0.0.0/24"
                ) from error
        return value

    @classmethod
    def settings_customise_sources(
        cls,
        settings_cls: type[BaseSettings],
        init_settings: PydanticBaseSettingsSource,
        env_settings: PydanticBaseSettingsSource,
        dotenv_settings: PydanticBaseSettingsSource,  # noqa: ARG003 - the library's signature
        file_secret_settings: PydanticBaseSettingsSource,  # noqa: ARG003
    ) -> tuple[PydanticBaseSettingsSource, ...]:
        """What is given goes before the environment, and that before the file."""
        file = settings_file()
        if file is None:
            return init_settings, env_settings
        return init_settings, env_settings, TomlConfigSettingsSource(settings_cls, file)

    @property
    def schema_name(self) -> str:
        """The PostgreSQL schema of the branch; empty for the database's own."""
        return f"branch_{self.branch.replace('-', '_')}" if self.branch else ""


def settings_file() -> Path | None:
    """The file of settings that the environment names; None when it names none."""
    named = os.environ.get(FILE_VARIABLE, "")
    return Path(named) if named else None
