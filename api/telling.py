"""Sending messages to customers after a call was answered, so that nobody waits for a mail server.

They stand in the outbox when the answer leaves. What a service that is ended does not send any
more, the next run of `dispatch notices` does.
"""

from __future__ import annotations

import structlog
from sqlalchemy import Engine

from dispatch.actions.notices_out import send_by_mail
from dispatch.errors import DispatchError
from dispatch.settings import Settings

log = structlog.get_logger(__name__)


def send_after(engine: Engine, settings: Settings) -> None:
    """Send what waits; the log has the ids of the sites and never an address."""
    try:
        sent = send_by_mail(engine, settings)
    except DispatchError as error:
        log.warning("notices", trouble=str(error))
        return
    for one in sent.notices:
        log.info("notice", site=one.site_id, kind=one.kind, state=one.state, tries=one.tries)
    if sent.trouble:
        log.warning("notices", trouble=sent.trouble)
