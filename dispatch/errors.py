"""Everything that can go wrong, as one tree.

DispatchError                    code
├── InvalidValue                 invalid-value       a value breaks its own rule
├── ImportRejected               import-rejected     a table has bad rows; nothing was taken in
├── MapError
│   ├── UnreadableMap            unreadable-map      not a street map, or broken off
│   ├── NoStreets                no-streets          a map without a drivable street
│   ├── NoMap                    no-map              no map has been built yet
│   └── OffStreet                off-street          a place too far from any street we can drive
├── AddressNotFound              address-not-found
├── NotFound                     not-found           no such site, technician, plan or job
├── WeekInPast                   week-in-past
├── NothingToPlan                nothing-to-plan     no technicians, or no sites
├── InUse                        in-use              plans or records need what was to be deleted
├── NotReady                 not-ready           a week or day to be published is not in order
├── InputsChanged                inputs-changed      what a plan was made from changed meanwhile
├── DayMoved                     day-moved           somebody else changed the day meanwhile
├── RecordConflict               record-conflict     a record of the same id says something else
├── Cancelled                    cancelled           the user stopped a long run
├── NotSignedIn                  not-signed-in       nobody is signed in, or no longer
├── NotAllowed                   not-allowed         the caller may not do this
├── WrongSignIn                  wrong-sign-in       name and password do not belong together
├── TooManyTries                 too-many-tries      too many attempts to sign in
├── LinkOver                     link-over           a one-time link was used, or is over
├── ChangedMeanwhile             changed-meanwhile   somebody else changed what was to be changed
├── VersionMissing               version-missing     a change does not say what it looked at
├── BackupError                  backup-error        a backup cannot be written, or put back
├── DiskFull                     disk-full           there is no room left to write
├── MailError                    mail-error          a message could not be handed over
├── KeyLost                      gate-key-lost       gate codes cannot be read without their key
└── SettingsError                bad-setting

A message is one full sentence or more: what is wrong, with the thing and its value in it, and
what to do about it, which holds on a page and in a terminal. A plan that breaks a rule is no
error; it is data (`planning.check`).
"""

from __future__ import annotations


class DispatchError(Exception):
    """Root of the tree; `code` is stable and may be relied on by callers of the API.

    `command` is what whoever types commands may type next; a page has its own ways on.
    """

    code = "dispatch-error"

    def __init__(self, message: str = "", *, command: str = "") -> None:
        super().__init__(message)
        self.command = command


class InvalidValue(DispatchError):
    """A value breaks its own rule."""

    code = "invalid-value"


class ImportRejected(DispatchError):
    """A table has bad rows; nothing of it was taken in. `problems` lists them."""

    code = "import-rejected"

    def __init__(self, message: str, problems: tuple[object, ...] = ()) -> None:
        super().__init__(message)
        self.problems = problems


class MapError(DispatchError):
    """Anything about the street map."""

    code = "map-error"


class UnreadableMap(MapError):
    """The file is no street map, or is broken off or corrupted."""

    code = "unreadable-map"


class NoStreets(MapError):
    """The map holds no drivable street."""

    code = "no-streets"


class NoMap(MapError):
    """No street map has been built yet."""

    code = "no-map"

    def __init__(self, message: str) -> None:
        super().__init__(message, command="dispatch map build FILE.osm.pbf")


class OffStreet(MapError):
    """A place lies too far from any street that can be driven to and from."""

    code = "off-street"


class AddressNotFound(DispatchError):
    """No address point answers to the words given."""

    code = "address-not-found"


class NotFound(DispatchError):
    """No such site, technician, plan or job."""

    code = "not-found"


class WeekInPast(DispatchError):
    """A week that is over cannot be planned."""

    code = "week-in-past"


class NothingToPlan(DispatchError):
    """There are no technicians or no sites."""

    code = "nothing-to-plan"


class InUse(DispatchError):
    """Plans or records need what was to be deleted."""

    code = "in-use"


class NotReady(DispatchError):
    """A week or day to be published breaks a rule; `points` of the check list say which."""

    code = "not-ready"

    def __init__(self, message: str, points: tuple[object, ...] = (), *, command: str = "") -> None:
        super().__init__(message, command=command)
        self.points = points


class InputsChanged(DispatchError):
    """What a plan was made from changed while it was made."""

    code = "inputs-changed"


class DayMoved(DispatchError):
    """The day has moved on since the change was prepared; nothing was overwritten."""

    code = "day-moved"


class RecordConflict(DispatchError):
    """A record of the same id was kept already and says something else."""

    code = "record-conflict"


class Cancelled(DispatchError):
    """The user stopped a long run."""

    code = "cancelled"


class NotSignedIn(DispatchError):
    """Nobody is signed in with this call, or no longer."""

    code = "not-signed-in"


class NotAllowed(DispatchError):
    """Somebody is signed in who may not do this."""

    code = "not-allowed"


class WrongSignIn(DispatchError):
    """The sign-in name and the password do not belong together."""

    code = "wrong-sign-in"


class TooManyTries(DispatchError):
    """Too many attempts to sign in, by one account or from one address.

    `wait_s` are the seconds until the next one is looked at.
    """

    code = "too-many-tries"

    def __init__(self, message: str, wait_s: int) -> None:
        super().__init__(message)
        self.wait_s = wait_s


class LinkOver(DispatchError):
    """A one-time link was used already, or is over."""

    code = "link-over"


class ChangedMeanwhile(DispatchError):
    """Somebody else changed what was to be changed after it was read."""

    code = "changed-meanwhile"


class VersionMissing(DispatchError):
    """A change of what others edit too does not say which version it was made looking at."""

    code = "version-missing"


class BackupError(DispatchError):
    """A backup cannot be written, or cannot be put back."""

    code = "backup-error"


class DiskFull(DispatchError):
    """There is no room left to write; nothing was changed."""

    code = "disk-full"


class KeyLost(DispatchError):
    """Gate codes cannot be read because the key they were sealed with is not there."""

    code = "gate-key-lost"


class MailError(DispatchError):
    """A message could not be handed to the mail server.

    `is_final`: trying this one again is of no use. `is_of_server`: no other would go out now.
    """

    code = "mail-error"

    def __init__(self, message: str, *, is_final: bool = False, is_of_server: bool = False) -> None:
        super().__init__(message)
        self.is_final, self.is_of_server = is_final, is_of_server


class SettingsError(DispatchError):
    """A setting has a value that cannot be used."""

    code = "bad-setting"
