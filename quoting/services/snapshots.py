"""Frozen records: written once, with a checksum; who they are about stands apart and can be erased."""

from __future__ import annotations

import hashlib
import json
import secrets
from functools import partial
from typing import Any

from cryptography.fernet import Fernet, InvalidToken
from django.db import connection, transaction

from fitouts.models import User
from quoting.models import Document, PersonalBlock, PersonalKey, Snapshot
from quoting.services import paper_files, told


class SnapshotDamaged(Exception):
    """A frozen record no longer agrees with its checksum."""


def canonical(obj: Any) -> str:
    """One text for one content: sorted keys, no spaces, characters as they are.

    Raises ``ValueError`` for NaN and infinities, ``TypeError`` for what JSON has no word for (dates, decimals: write
    them as text first) and for keys that are not text.
    """
    _only_text_keys(obj)
    return json.dumps(obj, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


@transaction.atomic
def freeze(
    *, kind: str, body: dict[str, Any], personal: dict[str, Any] | None, customer_id: int | None, by: User | None
) -> Snapshot:
    """Keep ``body`` for ever, and ``personal``, with what people wrote in the body, for as long as its key is kept."""
    if (personal is None) != (customer_id is None):
        raise ValueError("personal and customer_id go together: the one cannot be erased without the other.")
    canonical(body)  # raises for what cannot be kept
    words: told.Words = []
    if personal is not None:
        body, words = told.take_out(body)
    text = canonical(body)
    # The salt keeps the checksum, which outlives an erasure, from confirming a guessed name.
    block = "" if personal is None else canonical({"personal": personal, "words": words, "salt": secrets.token_hex(16)})
    block_sha256 = _sha256(block) if block else ""
    snapshot = Snapshot.objects.create(
        kind=kind,
        schema_version=body["schema"],
        body=text,
        sha256=_sha256(text + block_sha256),
        made_by_id=by.pk if by else None,
    )
    if block and customer_id is not None:
        key = Fernet.generate_key()
        PersonalBlock.objects.create(
            snapshot=snapshot, ciphertext=Fernet(key).encrypt(block.encode()).decode(), sha256=block_sha256
        )
        PersonalKey.objects.create(snapshot=snapshot, customer_id=customer_id, secret=key.decode())
    return snapshot


def read(snapshot: Snapshot) -> tuple[dict[str, Any], dict[str, Any] | None]:
    """Return the body and the personal part, which is None once erased; the body then lacks what people wrote.

    Raises :class:`SnapshotDamaged` when either disagrees with its checksum.
    """
    block = PersonalBlock.objects.filter(snapshot=snapshot).first()
    if _sha256(snapshot.body + (block.sha256 if block else "")) != snapshot.sha256:
        raise SnapshotDamaged(f"Frozen record {snapshot.pk} does not agree with its checksum.")
    body, kept = json.loads(snapshot.body), _personal(snapshot, block)
    if kept is None:
        return body, None
    return told.put_back(body, kept.get("words", [])), kept["personal"]


def verify(snapshot: Snapshot) -> bool:
    """Whether a frozen record, and its personal part if kept, agree with their checksums."""
    try:
        read(snapshot)
    except SnapshotDamaged:
        return False
    return True


@transaction.atomic
def erase_personal(customer_id: int) -> int:
    """Destroy the keys of everything frozen about a customer, and the papers that print it; return how many records.

    The frozen bodies and their checksums stay as they are. A paper made again says "erased on request".
    """
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA secure_delete = ON")  # overwrite the key on disk, not just unlink it
    keys = PersonalKey.objects.filter(customer_id=customer_id)
    held = list(keys.select_for_update().values_list("snapshot_id", flat=True))
    papers = Document.objects.filter(snapshot__in=held)
    for paper_id in papers.values_list("pk", flat=True):
        transaction.on_commit(partial(paper_files.remove, paper_id), robust=True)
    papers.exclude(file="").update(file="", sha256="", size=0, pages=0, renderer_version="", made_at=None)
    erased, _rows = keys.delete()
    return erased


def _personal(snapshot: Snapshot, block: PersonalBlock | None) -> dict[str, Any] | None:
    key = PersonalKey.objects.filter(snapshot=snapshot).first()
    if block is None or key is None:
        return None
    try:
        text = Fernet(key.secret.encode()).decrypt(block.ciphertext.encode()).decode()
    except InvalidToken:
        raise SnapshotDamaged(f"The personal part of frozen record {snapshot.pk} cannot be read.") from None
    if _sha256(text) != block.sha256:
        raise SnapshotDamaged(f"The personal part of frozen record {snapshot.pk} does not agree with its checksum.")
    kept: dict[str, Any] = json.loads(text)
    return kept


def _sha256(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _only_text_keys(obj: Any) -> None:
    """``json`` would write 1 and "1" alike; two contents must never share a text."""
    if isinstance(obj, dict):
        for key, value in obj.items():
            if not isinstance(key, str):
                raise TypeError(f"Key {key!r} is not text.")
            _only_text_keys(value)
    elif isinstance(obj, list | tuple):
        for value in obj:
            _only_text_keys(value)
