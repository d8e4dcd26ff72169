"""The company's table of upkeep: read, change, take back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from sqlmodel import Session

from dispatch.actions.lists import ListTable
from dispatch.intake.upkeep_edits import FIELDS, edited, texts_of
from dispatch.store.upkeep_kinds import changed_kinds, forget_rule, read_rules, write_rule
from dispatch.upkeep_rules import UpkeepRule, rule_of


def kinds(session: Session) -> tuple[UpkeepRule, ...]:
    """All kinds of upkeep, as the company has them."""
    return read_rules(session)


def changed(session: Session) -> frozenset[str]:
    """Kinds that the company changed."""
    return changed_kinds(session)


def change_kind(
    session: Session, kind: str, texts: Mapping[str, str], *, customary: bool = False
) -> UpkeepRule:
    """Change fields of a kind; see `intake.upkeep_edits.edited`.

    Raises
    ------
    NotFound
        When there is no such kind.
    InvalidValue
        When a value cannot be used; nothing is changed then.
    """
    rule = edited(rule_of(kind, read_rules(session)), texts, customary=customary)
    write_rule(session, rule)
    return rule


def reset_kind(session: Session, kind: str) -> UpkeepRule:
    """Take a kind back to what was delivered; raises NotFound when there is none."""
    rule = rule_of(kind)
    forget_rule(session, kind)
    return rule


def kind_list(rules: Iterable[UpkeepRule]) -> ListTable:
    """The table with the texts that `change_kind` reads."""
    columns = ("kind", "title", *FIELDS)
    rows = []
    for rule in rules:
        texts = texts_of(rule)
        rows.append((rule.kind, rule.title, *(texts[name] for name in FIELDS)))
    return ListTable(columns, tuple(rows))
