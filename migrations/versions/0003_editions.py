"""Editions, prints, their ledger and documents; the database itself keeps what was promised. Rows of old ledgers."""

from alembic import op

revision = "0003"
down_revision = "0002"

TABLES = [
    """
    CREATE TABLE edition (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        view_id INTEGER NOT NULL,
        title TEXT,
        statement TEXT NOT NULL,
        stated_edtf TEXT,
        stated_words TEXT,
        stated_earliest INTEGER,
        stated_latest INTEGER,
        stated_doubt TEXT DEFAULT '' NOT NULL,
        published_in TEXT,
        sizes_count TEXT NOT NULL,
        process TEXT,
        crop TEXT,
        CONSTRAINT ck_edition_sizes_count_known CHECK (sizes_count = 'across sizes' OR sizes_count = 'each size'),
        CONSTRAINT ck_edition_stated CHECK (statement <> ''),
        CONSTRAINT ck_edition_stated_sane CHECK ((stated_earliest IS NULL OR stated_latest IS NULL OR stated_earliest <= stated_latest) AND (stated_doubt = '' OR stated_doubt = '~' OR stated_doubt = '?' OR stated_doubt = '%' OR stated_doubt = 's')),
        CONSTRAINT fk_edition_view_id FOREIGN KEY(view_id) REFERENCES "view" (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_edition_view_id ON edition (view_id)
    """,
    """
    CREATE TABLE document (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        kind TEXT NOT NULL,
        person_id INTEGER,
        edition_id INTEGER,
        law TEXT,
        file_name TEXT NOT NULL,
        sha256 TEXT NOT NULL,
        facts TEXT NOT NULL,
        issued_at TEXT NOT NULL,
        state TEXT DEFAULT 'issued' NOT NULL,
        voided_at TEXT,
        voided_because TEXT,
        CONSTRAINT ck_document_kind_known CHECK (kind = 'certificate' OR kind = 'consignment note' OR kind = 'loan form' OR kind = 'invoice' OR kind = 'yearly letter' OR kind = 'insurance list' OR kind = 'edition statement' OR kind = 'prints held'),
        CONSTRAINT ck_document_state_known CHECK (state = 'issued' OR state = 'voided'),
        CONSTRAINT ck_document_voided_whole CHECK ((state = 'voided') = (voided_at IS NOT NULL)),
        CONSTRAINT ck_document_sha256_whole CHECK (length(sha256) = 64),
        CONSTRAINT fk_document_person_id FOREIGN KEY(person_id) REFERENCES person (id),
        CONSTRAINT fk_document_edition_id FOREIGN KEY(edition_id) REFERENCES edition (id),
        CONSTRAINT uq_document_file_name UNIQUE (file_name)
    ) STRICT
    """,
    """
    CREATE INDEX ix_document_person_id ON document (person_id)
    """,
    """
    CREATE TABLE edition_amendment (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        edition_id INTEGER NOT NULL,
        made_edtf TEXT,
        made_words TEXT,
        made_earliest INTEGER,
        made_latest INTEGER,
        made_doubt TEXT DEFAULT '' NOT NULL,
        words TEXT NOT NULL,
        published_in TEXT,
        changed TEXT NOT NULL,
        noted_at TEXT NOT NULL,
        CONSTRAINT ck_edition_amendment_worded CHECK (words <> ''),
        CONSTRAINT ck_edition_amendment_made_sane CHECK ((made_earliest IS NULL OR made_latest IS NULL OR made_earliest <= made_latest) AND (made_doubt = '' OR made_doubt = '~' OR made_doubt = '?' OR made_doubt = '%' OR made_doubt = 's')),
        CONSTRAINT fk_edition_amendment_edition_id FOREIGN KEY(edition_id) REFERENCES edition (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_edition_amendment_edition_id ON edition_amendment (edition_id)
    """,
    """
    CREATE TABLE edition_sheet (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        edition_id INTEGER NOT NULL,
        sheet_id INTEGER NOT NULL,
        CONSTRAINT uq_edition_sheet_edition_id_sheet_id UNIQUE (edition_id, sheet_id),
        CONSTRAINT fk_edition_sheet_edition_id FOREIGN KEY(edition_id) REFERENCES edition (id),
        CONSTRAINT fk_edition_sheet_sheet_id FOREIGN KEY(sheet_id) REFERENCES sheet (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_edition_sheet_sheet_id ON edition_sheet (sheet_id)
    """,
    """
    CREATE TABLE edition_state (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        edition_id INTEGER NOT NULL,
        state TEXT NOT NULL,
        since_edtf TEXT,
        since_words TEXT,
        since_earliest INTEGER,
        since_latest INTEGER,
        since_doubt TEXT DEFAULT '' NOT NULL,
        words TEXT,
        noted_at TEXT NOT NULL,
        CONSTRAINT ck_edition_state_state_known CHECK (state = 'planned' OR state = 'open' OR state = 'held' OR state = 'closed' OR state = 'withdrawn'),
        CONSTRAINT ck_edition_state_since_sane CHECK ((since_earliest IS NULL OR since_latest IS NULL OR since_earliest <= since_latest) AND (since_doubt = '' OR since_doubt = '~' OR since_doubt = '?' OR since_doubt = '%' OR since_doubt = 's')),
        CONSTRAINT fk_edition_state_edition_id FOREIGN KEY(edition_id) REFERENCES edition (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_edition_state_edition_id ON edition_state (edition_id)
    """,
    """
    CREATE TABLE run (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        edition_id INTEGER NOT NULL,
        limit_count INTEGER,
        numbering TEXT DEFAULT 'fraction' NOT NULL,
        amendment_id INTEGER,
        CONSTRAINT ck_run_limit_sane CHECK (limit_count > 0),
        CONSTRAINT ck_run_numbering_known CHECK (numbering = 'fraction' OR numbering = 'serial'),
        CONSTRAINT fk_run_edition_id FOREIGN KEY(edition_id) REFERENCES edition (id),
        CONSTRAINT fk_run_amendment_id FOREIGN KEY(amendment_id) REFERENCES edition_amendment (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_run_edition_id ON run (edition_id)
    """,
    """
    CREATE TABLE print_number (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        run_id INTEGER NOT NULL,
        series TEXT NOT NULL,
        ordinal INTEGER NOT NULL,
        written TEXT NOT NULL,
        is_ahead INTEGER DEFAULT '0' NOT NULL,
        given_at TEXT NOT NULL,
        CONSTRAINT uq_print_number_run_id_series_ordinal UNIQUE (run_id, series, ordinal),
        CONSTRAINT ck_print_number_series_known CHECK (series = 'numbered' OR series = 'AP' OR series = 'PP' OR series = 'HC' OR series = 'BAT' OR series = 'TP'),
        CONSTRAINT ck_print_number_sane CHECK (ordinal > 0 AND written <> ''),
        CONSTRAINT ck_print_number_ahead_yes_no CHECK (is_ahead IN (0, 1)),
        CONSTRAINT fk_print_number_run_id FOREIGN KEY(run_id) REFERENCES run (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_print_number_ahead ON print_number (run_id, series, ordinal) WHERE is_ahead = 1
    """,
    """
    CREATE TABLE proof_allowance (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        run_id INTEGER NOT NULL,
        kind TEXT NOT NULL,
        allowed INTEGER NOT NULL,
        amendment_id INTEGER,
        CONSTRAINT ck_proof_allowance_kind_known CHECK (kind = 'AP' OR kind = 'PP' OR kind = 'HC' OR kind = 'BAT' OR kind = 'TP'),
        CONSTRAINT ck_proof_allowance_allowed_sane CHECK (allowed >= 0),
        CONSTRAINT uq_proof_allowance_run_id_kind UNIQUE (run_id, kind),
        CONSTRAINT fk_proof_allowance_run_id FOREIGN KEY(run_id) REFERENCES run (id),
        CONSTRAINT fk_proof_allowance_amendment_id FOREIGN KEY(amendment_id) REFERENCES edition_amendment (id)
    ) STRICT
    """,
    """
    CREATE TABLE former_limit (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        amendment_id INTEGER NOT NULL,
        run_id INTEGER NOT NULL,
        series TEXT NOT NULL,
        limit_count INTEGER NOT NULL,
        CONSTRAINT ck_former_limit_series_known CHECK (series = 'numbered' OR series = 'AP' OR series = 'PP' OR series = 'HC' OR series = 'BAT' OR series = 'TP'),
        CONSTRAINT ck_former_limit_sane CHECK (limit_count >= 0),
        CONSTRAINT uq_former_limit_amendment_id_run_id_series UNIQUE (amendment_id, run_id, series),
        CONSTRAINT fk_former_limit_amendment_id FOREIGN KEY(amendment_id) REFERENCES edition_amendment (id),
        CONSTRAINT fk_former_limit_run_id FOREIGN KEY(run_id) REFERENCES run (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_former_limit_run_id ON former_limit (run_id)
    """,
    """
    CREATE TABLE size (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        run_id INTEGER NOT NULL,
        name TEXT NOT NULL,
        image TEXT,
        paper TEXT,
        CONSTRAINT uq_size_run_id_name UNIQUE (run_id, name),
        CONSTRAINT ck_size_named CHECK (name <> ''),
        CONSTRAINT fk_size_run_id FOREIGN KEY(run_id) REFERENCES run (id)
    ) STRICT
    """,
    """
    CREATE TABLE price_step (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        run_id INTEGER NOT NULL,
        size_id INTEGER,
        from_sold INTEGER NOT NULL,
        price_minor INTEGER NOT NULL,
        currency TEXT NOT NULL,
        CONSTRAINT ck_price_step_from_sane CHECK (from_sold >= 0),
        CONSTRAINT ck_price_step_price_sane CHECK (price_minor >= 0 AND length(currency) = 3),
        CONSTRAINT fk_price_step_run_id FOREIGN KEY(run_id) REFERENCES run (id),
        CONSTRAINT fk_price_step_size_id FOREIGN KEY(size_id) REFERENCES size (id)
    ) STRICT
    """,
    """
    CREATE UNIQUE INDEX uq_price_step ON price_step (run_id, ifnull(size_id, 0), from_sold)
    """,
    """
    CREATE TABLE print (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        print_number_id INTEGER,
        sheet_id INTEGER,
        view_id INTEGER,
        size_id INTEGER,
        version_id INTEGER,
        scan_id INTEGER,
        process TEXT,
        image_size TEXT,
        paper_size TEXT,
        paper TEXT,
        inks TEXT,
        printer TEXT,
        profile TEXT,
        rendering_intent TEXT,
        pulled_by_id INTEGER,
        pulled_edtf TEXT,
        pulled_words TEXT,
        pulled_earliest INTEGER,
        pulled_latest INTEGER,
        pulled_doubt TEXT DEFAULT '' NOT NULL,
        signed_where TEXT,
        signed_with TEXT,
        is_estate_stamp INTEGER,
        markings TEXT,
        replaces_id INTEGER,
        life TEXT DEFAULT 'live' NOT NULL,
        CONSTRAINT ck_print_of_something CHECK (coalesce(print_number_id, sheet_id, view_id) IS NOT NULL),
        CONSTRAINT ck_print_replaces_another CHECK (replaces_id <> id),
        CONSTRAINT ck_print_estate_yes_no CHECK (is_estate_stamp IN (0, 1)),
        CONSTRAINT ck_print_life_known CHECK (life = 'live' OR life = 'ended' OR life = 'void'),
        CONSTRAINT ck_print_pulled_sane CHECK ((pulled_earliest IS NULL OR pulled_latest IS NULL OR pulled_earliest <= pulled_latest) AND (pulled_doubt = '' OR pulled_doubt = '~' OR pulled_doubt = '?' OR pulled_doubt = '%' OR pulled_doubt = 's')),
        CONSTRAINT fk_print_print_number_id FOREIGN KEY(print_number_id) REFERENCES print_number (id),
        CONSTRAINT fk_print_sheet_id FOREIGN KEY(sheet_id) REFERENCES sheet (id),
        CONSTRAINT fk_print_view_id FOREIGN KEY(view_id) REFERENCES "view" (id),
        CONSTRAINT fk_print_size_id FOREIGN KEY(size_id) REFERENCES size (id),
        CONSTRAINT fk_print_version_id FOREIGN KEY(version_id) REFERENCES edit_version (id),
        CONSTRAINT fk_print_scan_id FOREIGN KEY(scan_id) REFERENCES scan (id),
        CONSTRAINT fk_print_pulled_by_id FOREIGN KEY(pulled_by_id) REFERENCES person (id),
        CONSTRAINT fk_print_replaces_id FOREIGN KEY(replaces_id) REFERENCES print (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_print_print_number_id ON print (print_number_id)
    """,
    """
    CREATE INDEX ix_print_replaces_id ON print (replaces_id) WHERE replaces_id IS NOT NULL
    """,
    """
    CREATE INDEX ix_print_scan_id ON print (scan_id) WHERE scan_id IS NOT NULL
    """,
    """
    CREATE INDEX ix_print_sheet_id ON print (sheet_id)
    """,
    """
    CREATE INDEX ix_print_version_id ON print (version_id) WHERE version_id IS NOT NULL
    """,
    """
    CREATE INDEX ix_print_view_id ON print (view_id) WHERE view_id IS NOT NULL
    """,
    """
    CREATE INDEX ix_print_void ON print (print_number_id) WHERE life = 'void'
    """,
    """
    CREATE UNIQUE INDEX uq_print_live ON print (print_number_id) WHERE life = 'live'
    """,
    """
    CREATE UNIQUE INDEX uq_print_replaces_id ON print (replaces_id) WHERE life <> 'void'
    """,
    """
    CREATE TABLE document_line (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        document_id INTEGER NOT NULL,
        print_id INTEGER NOT NULL,
        CONSTRAINT uq_document_line_document_id_print_id UNIQUE (document_id, print_id),
        CONSTRAINT fk_document_line_document_id FOREIGN KEY(document_id) REFERENCES document (id),
        CONSTRAINT fk_document_line_print_id FOREIGN KEY(print_id) REFERENCES print (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_document_line_print_id ON document_line (print_id)
    """,
    """
    CREATE TABLE ledger_entry (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        print_id INTEGER,
        print_number_id INTEGER,
        kind TEXT NOT NULL,
        date_edtf TEXT,
        date_words TEXT,
        date_earliest INTEGER,
        date_latest INTEGER,
        date_doubt TEXT DEFAULT '' NOT NULL,
        person_id INTEGER,
        from_id INTEGER,
        place TEXT,
        price_minor INTEGER,
        currency TEXT,
        due_edtf TEXT,
        due_words TEXT,
        due_earliest INTEGER,
        due_latest INTEGER,
        due_doubt TEXT DEFAULT '' NOT NULL,
        document_id INTEGER,
        words TEXT,
        corrects_id INTEGER,
        replacement_id INTEGER,
        written_at TEXT NOT NULL,
        CONSTRAINT ck_ledger_entry_one_subject CHECK ((print_id IS NULL) <> (print_number_id IS NULL)),
        CONSTRAINT ck_ledger_entry_kind_known CHECK (kind = 'pulled' OR kind = 'signed' OR kind = 'promised' OR kind = 'reserved' OR kind = 'released' OR kind = 'drawer' OR kind = 'framed' OR kind = 'consigned' OR kind = 'lent' OR kind = 'shown' OR kind = 'commission' OR kind = 'sold' OR kind = 'bought back' OR kind = 'given' OR kind = 'returned' OR kind = 'lost' OR kind = 'stolen' OR kind = 'found' OR kind = 'damaged' OR kind = 'condition report' OR kind = 'spoiled' OR kind = 'destroyed' OR kind = 'replaced' OR kind = 'corrected'),
        CONSTRAINT ck_ledger_entry_corrects_one CHECK ((kind = 'corrected') = (corrects_id IS NOT NULL)),
        CONSTRAINT ck_ledger_entry_replaced_by_one CHECK ((kind = 'replaced') = (replacement_id IS NOT NULL)),
        CONSTRAINT ck_ledger_entry_price_whole CHECK ((price_minor IS NULL) = (currency IS NULL)),
        CONSTRAINT ck_ledger_entry_price_sane CHECK (price_minor >= 0 AND length(currency) = 3),
        CONSTRAINT ck_ledger_entry_date_sane CHECK ((date_earliest IS NULL OR date_latest IS NULL OR date_earliest <= date_latest) AND (date_doubt = '' OR date_doubt = '~' OR date_doubt = '?' OR date_doubt = '%' OR date_doubt = 's')),
        CONSTRAINT ck_ledger_entry_due_sane CHECK ((due_earliest IS NULL OR due_latest IS NULL OR due_earliest <= due_latest) AND (due_doubt = '' OR due_doubt = '~' OR due_doubt = '?' OR due_doubt = '%' OR due_doubt = 's')),
        CONSTRAINT fk_ledger_entry_print_id FOREIGN KEY(print_id) REFERENCES print (id),
        CONSTRAINT fk_ledger_entry_print_number_id FOREIGN KEY(print_number_id) REFERENCES print_number (id),
        CONSTRAINT fk_ledger_entry_person_id FOREIGN KEY(person_id) REFERENCES person (id),
        CONSTRAINT fk_ledger_entry_from_id FOREIGN KEY(from_id) REFERENCES person (id),
        CONSTRAINT fk_ledger_entry_document_id FOREIGN KEY(document_id) REFERENCES document (id),
        CONSTRAINT fk_ledger_entry_corrects_id FOREIGN KEY(corrects_id) REFERENCES ledger_entry (id),
        CONSTRAINT fk_ledger_entry_replacement_id FOREIGN KEY(replacement_id) REFERENCES print (id) DEFERRABLE INITIALLY DEFERRED
    ) STRICT
    """,
    """
    CREATE INDEX ix_ledger_entry_document_id ON ledger_entry (document_id) WHERE document_id IS NOT NULL
    """,
    """
    CREATE INDEX ix_ledger_entry_from_id ON ledger_entry (from_id) WHERE from_id IS NOT NULL
    """,
    """
    CREATE INDEX ix_ledger_entry_person_id ON ledger_entry (person_id) WHERE person_id IS NOT NULL
    """,
    """
    CREATE INDEX ix_ledger_entry_print_id ON ledger_entry (print_id)
    """,
    """
    CREATE INDEX ix_ledger_entry_print_number_id ON ledger_entry (print_number_id) WHERE print_number_id IS NOT NULL
    """,
    """
    CREATE INDEX ix_ledger_entry_replacement_id ON ledger_entry (replacement_id) WHERE replacement_id IS NOT NULL
    """,
    """
    CREATE UNIQUE INDEX uq_ledger_entry_corrects_id ON ledger_entry (corrects_id) WHERE corrects_id IS NOT NULL
    """,
    """
    CREATE TABLE print_standing (
        print_id INTEGER NOT NULL,
        state TEXT NOT NULL,
        custodian_id INTEGER,
        owner_id INTEGER,
        entry_id INTEGER,
        since TEXT,
        due TEXT,
        due_latest INTEGER,
        place TEXT,
        value_minor INTEGER,
        currency TEXT,
        is_out INTEGER NOT NULL,
        is_signed INTEGER NOT NULL,
        hold TEXT,
        held_for_id INTEGER,
        held_until TEXT,
        CONSTRAINT pk_print_standing PRIMARY KEY (print_id),
        CONSTRAINT ck_print_standing_state_known CHECK (state = 'in hand' OR state = 'consigned' OR state = 'lent' OR state = 'on show' OR state = 'sold' OR state = 'given' OR state = 'lost' OR state = 'stolen' OR state = 'spoiled' OR state = 'destroyed' OR state = 'replaced' OR state = 'never made'),
        CONSTRAINT ck_print_standing_hold_known CHECK (hold IS NULL OR hold = 'promised' OR hold = 'reserved'),
        CONSTRAINT ck_print_standing_yes_no CHECK (is_out IN (0, 1) AND is_signed IN (0, 1)),
        CONSTRAINT fk_print_standing_print_id FOREIGN KEY(print_id) REFERENCES print (id),
        CONSTRAINT fk_print_standing_custodian_id FOREIGN KEY(custodian_id) REFERENCES person (id),
        CONSTRAINT fk_print_standing_owner_id FOREIGN KEY(owner_id) REFERENCES person (id),
        CONSTRAINT fk_print_standing_held_for_id FOREIGN KEY(held_for_id) REFERENCES person (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_print_standing_custodian_id ON print_standing (custodian_id) WHERE custodian_id IS NOT NULL
    """,
    """
    CREATE INDEX ix_print_standing_out ON print_standing (due_latest, print_id) WHERE is_out = 1
    """,
    """
    CREATE INDEX ix_print_standing_owner_id ON print_standing (owner_id) WHERE owner_id IS NOT NULL
    """,
]

# A print number is given once, within what was declared; it is never altered and never taken away.
NUMBERS = [
    """
    CREATE TRIGGER print_number_within BEFORE INSERT ON print_number
    WHEN CASE NEW.series
        WHEN 'numbered' THEN NEW.ordinal > (SELECT limit_count FROM run WHERE id = NEW.run_id)
        ELSE NEW.ordinal > ifnull(
            (SELECT allowed FROM proof_allowance WHERE run_id = NEW.run_id AND kind = NEW.series), 0)
    END
    BEGIN SELECT RAISE(ABORT, 'a print number beyond what the edition declares'); END
    """,
    """
    CREATE TRIGGER print_number_ahead BEFORE INSERT ON print_number
    WHEN NEW.is_ahead <> (NEW.ordinal > 1 AND NOT EXISTS (
        SELECT 1 FROM print_number WHERE run_id = NEW.run_id AND series = NEW.series AND ordinal = NEW.ordinal - 1))
    BEGIN SELECT RAISE(ABORT, 'is_ahead says whether the place before a number was free'); END
    """,
    """
    CREATE TRIGGER print_number_kept BEFORE DELETE ON print_number
    BEGIN SELECT RAISE(ABORT, 'a print number is given once and never taken away'); END
    """,
    """
    CREATE TRIGGER print_number_unaltered BEFORE UPDATE ON print_number
    BEGIN SELECT RAISE(ABORT, 'a print number is given once and never altered'); END
    """,
    """
    CREATE TRIGGER run_unaltered BEFORE UPDATE OF id, edition_id, limit_count, numbering ON run
    WHEN NEW.id <> OLD.id OR NEW.amendment_id IS OLD.amendment_id
    BEGIN SELECT RAISE(ABORT, 'the rule of a run changes only by an amendment'); END
    """,
    """
    CREATE TRIGGER run_limit BEFORE UPDATE OF limit_count ON run
    WHEN NEW.limit_count < (
        SELECT max(ordinal) FROM print_number WHERE run_id = NEW.id AND series = 'numbered')
    BEGIN SELECT RAISE(ABORT, 'more numbers were given than this limit'); END
    """,
    """
    CREATE TRIGGER proof_allowance_unaltered BEFORE UPDATE OF run_id, kind, allowed ON proof_allowance
    WHEN NEW.amendment_id IS OLD.amendment_id
    BEGIN SELECT RAISE(ABORT, 'the proofs declared change only by an amendment'); END
    """,
    """
    CREATE TRIGGER proof_allowance_limit BEFORE UPDATE OF allowed ON proof_allowance
    WHEN NEW.allowed < (SELECT max(ordinal) FROM print_number WHERE run_id = NEW.run_id AND series = NEW.kind)
    BEGIN SELECT RAISE(ABORT, 'more proofs were numbered than this allowance'); END
    """,
    """
    CREATE TRIGGER proof_allowance_kept BEFORE DELETE ON proof_allowance
    WHEN EXISTS (SELECT 1 FROM print_number WHERE run_id = OLD.run_id AND series = OLD.kind)
    BEGIN SELECT RAISE(ABORT, 'proofs were numbered under this allowance'); END
    """,
    """
    CREATE TRIGGER edition_statement BEFORE UPDATE OF view_id, statement, sizes_count ON edition
    WHEN EXISTS (SELECT 1 FROM edition_state WHERE edition_id = OLD.id AND state = 'open')
    BEGIN SELECT RAISE(ABORT, 'the statement of an edition changes only by an amendment'); END
    """,
]

# The life of a print as its ledger says it: live, ended, or never made.
LIFE = """
    CASE
        WHEN EXISTS (
            SELECT 1 FROM ledger_entry e WHERE e.print_id = {print} AND e.kind IN ('spoiled', 'destroyed', 'replaced')
            AND NOT EXISTS (SELECT 1 FROM ledger_entry c WHERE c.corrects_id = e.id))
        THEN 'ended'
        WHEN EXISTS (SELECT 1 FROM ledger_entry e WHERE e.print_id = {print} AND e.kind = 'pulled')
        AND NOT EXISTS (
            SELECT 1 FROM ledger_entry e WHERE e.print_id = {print} AND e.kind = 'pulled'
            AND NOT EXISTS (SELECT 1 FROM ledger_entry c WHERE c.corrects_id = e.id))
        THEN 'void'
        ELSE 'live'
    END
"""
PRINTS = [
    """
    CREATE TRIGGER print_number_once BEFORE INSERT ON print
    WHEN NEW.print_number_id IS NOT NULL AND NEW.replaces_id IS NULL
        AND EXISTS (SELECT 1 FROM print WHERE print_number_id = NEW.print_number_id AND life <> 'void')
    BEGIN SELECT RAISE(ABORT, 'another print was given this number'); END
    """,
    """
    CREATE TRIGGER print_replaces BEFORE INSERT ON print
    WHEN NEW.replaces_id IS NOT NULL AND NOT EXISTS (
        SELECT 1 FROM print
        WHERE id = NEW.replaces_id AND life = 'ended' AND print_number_id IS NEW.print_number_id)
    BEGIN SELECT RAISE(ABORT, 'a print is replaced only once its end is written down, and under its own number'); END
    """,
    """
    CREATE TRIGGER print_born BEFORE INSERT ON print WHEN NEW.life <> 'live'
    BEGIN SELECT RAISE(ABORT, 'what became of a print is written in the ledger'); END
    """,
    """
    CREATE TRIGGER print_kept BEFORE DELETE ON print
    BEGIN SELECT RAISE(ABORT, 'a print is never taken out of the catalogue'); END
    """,
    """
    CREATE TRIGGER print_number_stays BEFORE UPDATE OF id, print_number_id, replaces_id ON print
    WHEN NEW.id <> OLD.id OR NEW.replaces_id IS NOT OLD.replaces_id OR (
        NEW.print_number_id IS NOT OLD.print_number_id AND (
            OLD.print_number_id IS NOT NULL
            OR EXISTS (SELECT 1 FROM print WHERE print_number_id = NEW.print_number_id AND life <> 'void')))
    BEGIN SELECT RAISE(ABORT, 'a print keeps its number'); END
    """,
    """
    CREATE TRIGGER print_number_back BEFORE UPDATE OF life ON print
    WHEN OLD.life = 'void' AND NEW.life <> 'void' AND OLD.print_number_id IS NOT NULL AND OLD.replaces_id IS NULL
        AND EXISTS (
            SELECT 1 FROM print WHERE print_number_id = OLD.print_number_id AND id <> OLD.id AND life <> 'void')
    BEGIN SELECT RAISE(ABORT, 'the number of this print was given to another since'); END
    """,
    f"""
    CREATE TRIGGER print_life_true BEFORE UPDATE OF life ON print
    WHEN NEW.life IS NOT {LIFE.format(print="NEW.id")}
    BEGIN SELECT RAISE(ABORT, 'what became of a print is written in the ledger'); END
    """,
]
_LEAVING = "'consigned', 'lent', 'shown', 'sold', 'given', 'lost', 'stolen'"
LEDGER = [
    """
    CREATE TRIGGER ledger_entry_kept BEFORE DELETE ON ledger_entry
    BEGIN SELECT RAISE(ABORT, 'the ledger is only added to: write a correction'); END
    """,
    """
    CREATE TRIGGER ledger_entry_unaltered BEFORE UPDATE ON ledger_entry
    BEGIN SELECT RAISE(ABORT, 'the ledger is only added to: write a correction'); END
    """,
    """
    CREATE TRIGGER ledger_entry_corrects BEFORE INSERT ON ledger_entry
    WHEN NEW.corrects_id IS NOT NULL AND NOT EXISTS (
        SELECT 1 FROM ledger_entry WHERE id = NEW.corrects_id AND kind <> 'corrected'
        AND print_id IS NEW.print_id AND print_number_id IS NEW.print_number_id)
    BEGIN SELECT RAISE(ABORT, 'a correction is of an earlier entry of the same print'); END
    """,
    f"""
    CREATE TRIGGER ledger_entry_left_the_house BEFORE INSERT ON ledger_entry
    WHEN NEW.corrects_id IS NOT NULL AND (SELECT kind FROM ledger_entry WHERE id = NEW.corrects_id) = 'pulled'
        AND EXISTS (SELECT 1 FROM ledger_entry WHERE print_id = NEW.print_id AND kind IN ({_LEAVING}))
    BEGIN SELECT RAISE(ABORT, 'a number that left the house is never free again'); END
    """,
    """
    CREATE TRIGGER ledger_entry_needs_print BEFORE INSERT ON ledger_entry
    WHEN NEW.print_number_id IS NOT NULL AND NEW.kind NOT IN ('promised', 'reserved', 'released', 'corrected')
    BEGIN SELECT RAISE(ABORT, 'there is no print of this number yet'); END
    """,
    f"""
    CREATE TRIGGER print_life AFTER INSERT ON ledger_entry
    WHEN NEW.print_id IS NOT NULL AND (NEW.kind IN ('spoiled', 'destroyed', 'replaced', 'corrected')
        OR (NEW.kind = 'pulled' AND (SELECT life FROM print WHERE id = NEW.print_id) <> 'live'))
    BEGIN
        UPDATE print SET life = {LIFE.format(print="NEW.print_id")}
        WHERE id = NEW.print_id AND life IS NOT {LIFE.format(print="NEW.print_id")};
    END
    """,
]
DOCUMENTS = [
    """
    CREATE TRIGGER document_kept BEFORE DELETE ON document
    BEGIN SELECT RAISE(ABORT, 'an issued document is voided, not deleted'); END
    """,
    """
    CREATE TRIGGER document_unaltered BEFORE UPDATE ON document
    WHEN (NEW.id, NEW.kind, NEW.person_id, NEW.edition_id, NEW.law, NEW.file_name, NEW.sha256, NEW.facts, NEW.issued_at)
        IS NOT
        (OLD.id, OLD.kind, OLD.person_id, OLD.edition_id, OLD.law, OLD.file_name, OLD.sha256, OLD.facts, OLD.issued_at)
    BEGIN SELECT RAISE(ABORT, 'an issued document is voided, not altered'); END
    """,
    """
    CREATE TRIGGER document_line_kept BEFORE DELETE ON document_line
    BEGIN SELECT RAISE(ABORT, 'an issued document is voided, not altered'); END
    """,
    """
    CREATE TRIGGER document_line_unaltered BEFORE UPDATE ON document_line
    BEGIN SELECT RAISE(ABORT, 'an issued document is voided, not altered'); END
    """,
]

# "INSERT OR REPLACE" takes away the row in its way without a delete trigger being heard (SQLite, "CREATE TRIGGER",
# section 2: only with recursive triggers on), so that what may not be altered may not be inserted over either.
_SAME = {
    "edition": "id = NEW.id",
    "run": "id = NEW.id",
    "proof_allowance": "id = NEW.id OR (run_id = NEW.run_id AND kind = NEW.kind)",
    "print_number": "id = NEW.id OR (run_id = NEW.run_id AND series = NEW.series AND ordinal = NEW.ordinal)",
    "print": "id = NEW.id OR (print_number_id = NEW.print_number_id AND life = 'live')"
    " OR (replaces_id = NEW.replaces_id AND life <> 'void')",
    "ledger_entry": "id = NEW.id OR corrects_id = NEW.corrects_id",
    "document": "id = NEW.id OR file_name = NEW.file_name",
    "document_line": "id = NEW.id OR (document_id = NEW.document_id AND print_id = NEW.print_id)",
}
NOT_OVER = [
    f"""
    CREATE TRIGGER {table}_not_over BEFORE INSERT ON {table}
    WHEN EXISTS (SELECT 1 FROM {table} WHERE {same})
    BEGIN SELECT RAISE(ABORT, '{table.replace("_", " ")}: there is one already, and it is not written over'); END
    """
    for table, same in _SAME.items()
]

# Notes, wordings and questions may now be about these too; the triggers keep the list (migration 0002).
SAID = ("note", "wording", "open_question")
ABOUT_BEFORE = (
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
ABOUT = (*ABOUT_BEFORE, "edition", "print", "document")


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
            name = f"{said}_about_{moment[:6].lower()}"
            made.append(f"DROP TRIGGER {name}")
            made.append(
                f"CREATE TRIGGER {name} BEFORE {moment} ON {said} WHEN {missing}"
                f" BEGIN SELECT RAISE(ABORT, '{said} is about a record that is not there'); END"
            )
    for table in ABOUT[len(ABOUT_BEFORE) :]:
        held = " OR ".join(
            f"EXISTS (SELECT 1 FROM {said} WHERE about = '{table}' AND about_id = OLD.id)" for said in SAID
        )
        made.append(
            f"CREATE TRIGGER {table}_said_of BEFORE DELETE ON {table} WHEN {held}"
            f" BEGIN SELECT RAISE(ABORT, 'notes, wordings or questions are about this {table}'); END"
        )
    return made


# A row of a card index may now tell of a print: the table is made anew, for a check cannot be added (SQLite, ALTER
# TABLE, section 7). Nothing but foreign keys names it, and no id is given twice after it.
_ROW = 'id, card_file_id, "row", row_key, digest, cells, facts, sheet_id'
CARD_ROWS = [
    """
    CREATE TABLE new_card_row (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        card_file_id INTEGER NOT NULL,
        "row" INTEGER NOT NULL,
        row_key TEXT NOT NULL,
        digest TEXT NOT NULL,
        cells TEXT NOT NULL,
        facts TEXT,
        sheet_id INTEGER,
        print_id INTEGER,
        CONSTRAINT uq_card_row_card_file_id_row UNIQUE (card_file_id, "row"),
        CONSTRAINT ck_card_row_of_one CHECK (sheet_id IS NULL OR print_id IS NULL),
        CONSTRAINT fk_card_row_card_file_id FOREIGN KEY(card_file_id) REFERENCES card_file (id),
        CONSTRAINT fk_card_row_sheet_id FOREIGN KEY(sheet_id) REFERENCES sheet (id),
        CONSTRAINT fk_card_row_print_id FOREIGN KEY(print_id) REFERENCES print (id)
    ) STRICT
    """,
    f"INSERT INTO new_card_row ({_ROW}) SELECT {_ROW} FROM card_row",
    "DELETE FROM sqlite_sequence WHERE name = 'new_card_row'",
    "UPDATE sqlite_sequence SET name = 'new_card_row' WHERE name = 'card_row'",
    "DROP TABLE card_row",
    "ALTER TABLE new_card_row RENAME TO card_row",
    """
    CREATE INDEX ix_card_row_sheet_id ON card_row (sheet_id)
    """,
    """
    CREATE INDEX ix_card_row_print_id ON card_row (print_id) WHERE print_id IS NOT NULL
    """,
]


def upgrade() -> None:
    """Add the tables with their triggers, let notes be about the new nouns, and rows of old ledgers be of prints."""
    for statement in (*TABLES, *CARD_ROWS, *NUMBERS, *PRINTS, *LEDGER, *DOCUMENTS, *NOT_OVER, *about_triggers()):
        op.execute(statement)
