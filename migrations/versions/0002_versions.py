"""Edit versions, what they were made from, and what was measured of a scan; notes may be about a version."""

from alembic import op

revision = "0002"
down_revision = "0001"

TABLES = [
    """
    CREATE TABLE edit_version (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        steps TEXT,
        file_id INTEGER,
        purpose TEXT,
        made_edtf TEXT,
        made_words TEXT,
        made_earliest INTEGER,
        made_latest INTEGER,
        made_doubt TEXT DEFAULT '' NOT NULL,
        made_with TEXT,
        replaces_id INTEGER,
        kind TEXT,
        width_px INTEGER,
        height_px INTEGER,
        bits INTEGER,
        channels INTEGER,
        colour TEXT,
        recorded_ppi REAL,
        profile TEXT,
        facts TEXT,
        note TEXT,
        CONSTRAINT ck_edit_version_known CHECK (steps IS NOT NULL OR file_id IS NOT NULL OR note IS NOT NULL),
        CONSTRAINT ck_edit_version_replaces_another CHECK (replaces_id <> id),
        CONSTRAINT ck_edit_version_size_sane CHECK (width_px > 0 AND height_px > 0 AND bits > 0 AND channels > 0),
        CONSTRAINT ck_edit_version_ppi_sane CHECK (recorded_ppi > 1),
        CONSTRAINT ck_edit_version_made_sane CHECK ((made_earliest IS NULL OR made_latest IS NULL OR made_earliest <= made_latest) AND (made_doubt = '' OR made_doubt = '~' OR made_doubt = '?' OR made_doubt = '%' OR made_doubt = 's')),
        CONSTRAINT uq_edit_version_file_id UNIQUE (file_id),
        CONSTRAINT fk_edit_version_file_id FOREIGN KEY(file_id) REFERENCES file (id),
        CONSTRAINT fk_edit_version_replaces_id FOREIGN KEY(replaces_id) REFERENCES edit_version (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_edit_version_replaces_id ON edit_version (replaces_id)
    """,
    """
    CREATE TABLE version_source (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        version_id INTEGER NOT NULL,
        position INTEGER NOT NULL,
        scan_id INTEGER,
        source_version_id INTEGER,
        sheet_id INTEGER,
        CONSTRAINT ck_version_source_from_one CHECK ((scan_id IS NOT NULL) + (source_version_id IS NOT NULL) + (sheet_id IS NOT NULL) = 1),
        CONSTRAINT ck_version_source_from_another CHECK (source_version_id <> version_id),
        CONSTRAINT uq_version_source_version_id_position UNIQUE (version_id, position),
        CONSTRAINT uq_version_source_version_id_scan_id UNIQUE (version_id, scan_id),
        CONSTRAINT uq_version_source_version_id_source_version_id UNIQUE (version_id, source_version_id),
        CONSTRAINT uq_version_source_version_id_sheet_id UNIQUE (version_id, sheet_id),
        CONSTRAINT fk_version_source_version_id FOREIGN KEY(version_id) REFERENCES edit_version (id),
        CONSTRAINT fk_version_source_scan_id FOREIGN KEY(scan_id) REFERENCES scan (id),
        CONSTRAINT fk_version_source_source_version_id FOREIGN KEY(source_version_id) REFERENCES edit_version (id),
        CONSTRAINT fk_version_source_sheet_id FOREIGN KEY(sheet_id) REFERENCES sheet (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_version_source_scan_id ON version_source (scan_id)
    """,
    """
    CREATE INDEX ix_version_source_sheet_id ON version_source (sheet_id)
    """,
    """
    CREATE INDEX ix_version_source_source_version_id ON version_source (source_version_id)
    """,
    """
    CREATE TABLE scan_reading (
        scan_id INTEGER NOT NULL,
        sha256 TEXT NOT NULL,
        measured_at TEXT NOT NULL,
        program TEXT NOT NULL,
        polarity TEXT,
        density_range REAL,
        is_reversed INTEGER,
        evidence TEXT,
        readings TEXT NOT NULL,
        CONSTRAINT pk_scan_reading PRIMARY KEY (scan_id),
        CONSTRAINT ck_scan_reading_sha256_whole CHECK (length(sha256) = 64),
        CONSTRAINT ck_scan_reading_polarity_known CHECK (polarity IS NULL OR polarity = 'negative' OR polarity = 'positive'),
        CONSTRAINT ck_scan_reading_reversed_yes_no CHECK (is_reversed IN (0, 1)),
        CONSTRAINT fk_scan_reading_scan_id FOREIGN KEY(scan_id) REFERENCES scan (id)
    ) STRICT
    """,
]

# The list of what a note, a wording or a question may be about grows with every noun. It stood in a check, which
# SQLite cannot alter; from here on the triggers keep it, so that the next noun needs no table made anew.
SAID = {
    "note": (
        """
        CREATE TABLE new_note (
            id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
            about TEXT NOT NULL,
            about_id INTEGER NOT NULL,
            heading TEXT,
            text TEXT NOT NULL,
            card_row_id INTEGER,
            said_by_id INTEGER,
            source_id INTEGER,
            noted_at TEXT NOT NULL,
            CONSTRAINT ck_note_about_whole CHECK ((about IS NULL) = (about_id IS NULL)),
            CONSTRAINT ck_note_said CHECK (text <> ''),
            CONSTRAINT fk_note_card_row_id FOREIGN KEY(card_row_id) REFERENCES card_row (id),
            CONSTRAINT fk_note_said_by_id FOREIGN KEY(said_by_id) REFERENCES person (id),
            CONSTRAINT fk_note_source_id FOREIGN KEY(source_id) REFERENCES source (id)
        ) STRICT
        """,
        """
        CREATE INDEX ix_note_about_about_id ON note (about, about_id)
        """,
        "id, about, about_id, heading, text, card_row_id, said_by_id, source_id, noted_at",
    ),
    "wording": (
        """
        CREATE TABLE new_wording (
            id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
            about TEXT NOT NULL,
            about_id INTEGER NOT NULL,
            field TEXT NOT NULL,
            as_written TEXT NOT NULL,
            certainty TEXT NOT NULL,
            alternatives TEXT,
            source_id INTEGER,
            card_row_id INTEGER,
            said_by_id INTEGER,
            noted_at TEXT NOT NULL,
            CONSTRAINT ck_wording_about_whole CHECK ((about IS NULL) = (about_id IS NULL)),
            CONSTRAINT ck_wording_certainty_known CHECK (certainty = 'certain' OR certainty = 'probable' OR certainty = 'possible'),
            CONSTRAINT fk_wording_source_id FOREIGN KEY(source_id) REFERENCES source (id),
            CONSTRAINT fk_wording_card_row_id FOREIGN KEY(card_row_id) REFERENCES card_row (id),
            CONSTRAINT fk_wording_said_by_id FOREIGN KEY(said_by_id) REFERENCES person (id)
        ) STRICT
        """,
        """
        CREATE INDEX ix_wording_about_about_id_field ON wording (about, about_id, field)
        """,
        "id, about, about_id, field, as_written, certainty, alternatives, source_id, card_row_id, said_by_id, noted_at",
    ),
    "open_question": (
        """
        CREATE TABLE new_open_question (
            id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
            about TEXT,
            about_id INTEGER,
            text TEXT NOT NULL,
            ask TEXT,
            ask_id INTEGER,
            asked_at TEXT NOT NULL,
            answer TEXT,
            settled_at TEXT,
            CONSTRAINT ck_open_question_about_whole CHECK ((about IS NULL) = (about_id IS NULL)),
            CONSTRAINT ck_open_question_settled_whole CHECK ((answer IS NULL) = (settled_at IS NULL)),
            CONSTRAINT fk_open_question_ask_id FOREIGN KEY(ask_id) REFERENCES person (id)
        ) STRICT
        """,
        """
        CREATE INDEX ix_open_question_about_about_id ON open_question (about, about_id)
        """,
        "id, about, about_id, text, ask, ask_id, asked_at, answer, settled_at",
    ),
}
"""Its table, its index, its columns."""

ABOUT = (
    "sheet",
    "scan",
    "building",
    "place",
    "view",
    "standpoint",
    "visit",
    "person",
    "source",
    "roll",
    "kit",
    "drive",
    "edit_version",
)


def about_triggers() -> list[str]:
    """Return the triggers that keep what is said of a record, and the record, together."""
    missing = (
        "NEW.about IS NOT NULL AND CASE NEW.about "
        + " ".join(f"WHEN '{table}' THEN NOT EXISTS (SELECT 1 FROM {table} WHERE id = NEW.about_id)" for table in ABOUT)
        + " ELSE 1 END"
    )
    made = []
    for said in SAID:
        for moment in ("INSERT", "UPDATE OF about, about_id"):
            made.append(
                f"CREATE TRIGGER {said}_about_{moment[:6].lower()} BEFORE {moment} ON {said} WHEN {missing}"
                f" BEGIN SELECT RAISE(ABORT, '{said} is about a record that is not there'); END"
            )
    for table in ABOUT:
        held = " OR ".join(
            f"EXISTS (SELECT 1 FROM {said} WHERE about = '{table}' AND about_id = OLD.id)" for said in SAID
        )
        made.append(
            f"CREATE TRIGGER {table}_said_of BEFORE DELETE ON {table} WHEN {held}"
            f" BEGIN SELECT RAISE(ABORT, 'notes, wordings or questions are about this {table}'); END"
        )
    return made


def drop_about_triggers() -> list[str]:
    """Return what drops those triggers: renaming a table reads every trigger that names it."""
    dropped = [f"{said}_about_{moment}" for said in SAID for moment in ("insert", "update")]
    return [f"DROP TRIGGER IF EXISTS {name}" for name in (*dropped, *(f"{table}_said_of" for table in ABOUT))]


def made_anew(said: str) -> list[str]:
    """Return the statements that make a table anew (SQLite, ALTER TABLE, section 7); no id is given twice after it."""
    table, index, columns = SAID[said]
    return [
        table,
        f"INSERT INTO new_{said} ({columns}) SELECT {columns} FROM {said}",
        f"DELETE FROM sqlite_sequence WHERE name = 'new_{said}'",
        f"UPDATE sqlite_sequence SET name = 'new_{said}' WHERE name = '{said}'",
        f"DROP TABLE {said}",
        f"ALTER TABLE new_{said} RENAME TO {said}",
        index,
    ]


# A version is never, however far back, made from itself, nor does it replace itself.
NO_CIRCLES = """
    CREATE TRIGGER {table}_{moment} BEFORE {event} ON {table}
    WHEN EXISTS (
        WITH RECURSIVE former(id) AS (
            VALUES (NEW.{column})
            UNION
            SELECT {table}.{column} FROM {table} JOIN former ON {table}.{key} = former.id
        )
        SELECT 1 FROM former WHERE id = NEW.{key}
    )
    BEGIN SELECT RAISE(ABORT, '{words}'); END
"""
CIRCLES = [
    {
        "table": "version_source",
        "key": "version_id",
        "column": "source_version_id",
        "words": "a version cannot be made from itself",
    },
    {"table": "edit_version", "key": "id", "column": "replaces_id", "words": "a version cannot replace itself"},
]

# What was measured goes with its scan; it can be measured again.
READING = """
    CREATE TRIGGER scan_reading_gone BEFORE DELETE ON scan
    BEGIN DELETE FROM scan_reading WHERE scan_id = OLD.id; END
"""


def upgrade() -> None:
    """Add the tables, and make those anew whose check listed what may be spoken of."""
    for statement in (*TABLES, *drop_about_triggers()):
        op.execute(statement)
    for said in SAID:
        for statement in made_anew(said):
            op.execute(statement)
    for statement in about_triggers():
        op.execute(statement)
    for circle in CIRCLES:
        columns = f"{circle['key']}, {circle['column']}"
        op.execute(NO_CIRCLES.format(moment="insert", event="INSERT", **circle))
        op.execute(NO_CIRCLES.format(moment="update", event=f"UPDATE OF {columns}", **circle))
    op.execute(READING)
