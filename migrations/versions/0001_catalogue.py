"""The catalogue: every noun of the first issue, with its triggers and its search words."""

from alembic import op

revision = "0001"
down_revision = None

TABLES = [
    """
    CREATE TABLE building (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        name TEXT NOT NULL,
        kind TEXT,
        identifier TEXT,
        CONSTRAINT ck_building_named CHECK (name <> '')
    ) STRICT
    """,
    """
    CREATE TABLE card_file (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        name TEXT NOT NULL,
        sha256 TEXT NOT NULL,
        encoding TEXT,
        mapping TEXT NOT NULL,
        read_at TEXT NOT NULL,
        CONSTRAINT ck_card_file_sha256_whole CHECK (length(sha256) = 64)
    ) STRICT
    """,
    """
    CREATE INDEX ix_card_file_name ON card_file (name)
    """,
    """
    CREATE TABLE deed (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        kind TEXT NOT NULL,
        words TEXT NOT NULL,
        at TEXT NOT NULL,
        state TEXT NOT NULL,
        schema TEXT NOT NULL,
        process TEXT,
        left_to_do TEXT,
        undoes_id INTEGER,
        undone_by_id INTEGER,
        CONSTRAINT ck_deed_state_known CHECK (state = 'under way' OR state = 'done' OR state = 'interrupted'),
        CONSTRAINT ck_deed_undone_later CHECK (undone_by_id IS NULL OR undone_by_id > id),
        CONSTRAINT fk_deed_undoes_id FOREIGN KEY(undoes_id) REFERENCES deed (id),
        CONSTRAINT fk_deed_undone_by_id FOREIGN KEY(undone_by_id) REFERENCES deed (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_deed_under_way ON deed (state) WHERE state = 'under way'
    """,
    """
    CREATE TABLE drive (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        name TEXT NOT NULL,
        marker TEXT NOT NULL,
        last_path TEXT NOT NULL,
        depth INTEGER NOT NULL,
        last_seen_at TEXT NOT NULL,
        CONSTRAINT ck_drive_named CHECK (name <> ''),
        CONSTRAINT uq_drive_name UNIQUE (name),
        CONSTRAINT uq_drive_marker UNIQUE (marker)
    ) STRICT
    """,
    """
    CREATE TABLE kit (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        kind TEXT NOT NULL,
        name TEXT NOT NULL,
        maker TEXT,
        known_from_edtf TEXT,
        known_from_words TEXT,
        known_from_earliest INTEGER,
        known_from_latest INTEGER,
        known_from_doubt TEXT DEFAULT '' NOT NULL,
        known_until_edtf TEXT,
        known_until_words TEXT,
        known_until_earliest INTEGER,
        known_until_latest INTEGER,
        known_until_doubt TEXT DEFAULT '' NOT NULL,
        CONSTRAINT ck_kit_kind_known CHECK (kind = 'lens' OR kind = 'camera' OR kind = 'film_stock'),
        CONSTRAINT ck_kit_named CHECK (name <> ''),
        CONSTRAINT uq_kit_kind_name UNIQUE (kind, name),
        CONSTRAINT ck_kit_known_from_sane CHECK ((known_from_earliest IS NULL OR known_from_latest IS NULL OR known_from_earliest <= known_from_latest) AND (known_from_doubt = '' OR known_from_doubt = '~' OR known_from_doubt = '?' OR known_from_doubt = '%' OR known_from_doubt = 's')),
        CONSTRAINT ck_kit_known_until_sane CHECK ((known_until_earliest IS NULL OR known_until_latest IS NULL OR known_until_earliest <= known_until_latest) AND (known_until_doubt = '' OR known_until_doubt = '~' OR known_until_doubt = '?' OR known_until_doubt = '%' OR known_until_doubt = 's'))
    ) STRICT
    """,
    """
    CREATE TABLE person (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        name TEXT NOT NULL,
        kind TEXT DEFAULT 'person' NOT NULL,
        role TEXT,
        address TEXT,
        contact TEXT,
        CONSTRAINT ck_person_kind_known CHECK (kind = 'person' OR kind = 'firm')
    ) STRICT
    """,
    """
    CREATE TABLE place (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        name TEXT NOT NULL,
        kind TEXT,
        latitude_deg REAL,
        longitude_deg REAL,
        CONSTRAINT ck_place_named CHECK (name <> ''),
        CONSTRAINT ck_place_latitude_sane CHECK (latitude_deg BETWEEN -90 AND 90),
        CONSTRAINT ck_place_longitude_sane CHECK (longitude_deg BETWEEN -180 AND 180)
    ) STRICT
    """,
    """
    CREATE TABLE source (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        title TEXT NOT NULL,
        kind TEXT,
        author TEXT,
        published_edtf TEXT,
        published_words TEXT,
        published_earliest INTEGER,
        published_latest INTEGER,
        published_doubt TEXT DEFAULT '' NOT NULL,
        kept_at TEXT,
        CONSTRAINT ck_source_published_sane CHECK ((published_earliest IS NULL OR published_latest IS NULL OR published_earliest <= published_latest) AND (published_doubt = '' OR published_doubt = '~' OR published_doubt = '?' OR published_doubt = '%' OR published_doubt = 's'))
    ) STRICT
    """,
    """
    CREATE TABLE building_name (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        building_id INTEGER NOT NULL,
        name TEXT NOT NULL,
        from_edtf TEXT,
        from_words TEXT,
        from_earliest INTEGER,
        from_latest INTEGER,
        from_doubt TEXT DEFAULT '' NOT NULL,
        until_edtf TEXT,
        until_words TEXT,
        until_earliest INTEGER,
        until_latest INTEGER,
        until_doubt TEXT DEFAULT '' NOT NULL,
        source_id INTEGER,
        CONSTRAINT uq_building_name_building_id_name UNIQUE (building_id, name),
        CONSTRAINT ck_building_name_named CHECK (name <> ''),
        CONSTRAINT ck_building_name_from_sane CHECK ((from_earliest IS NULL OR from_latest IS NULL OR from_earliest <= from_latest) AND (from_doubt = '' OR from_doubt = '~' OR from_doubt = '?' OR from_doubt = '%' OR from_doubt = 's')),
        CONSTRAINT ck_building_name_until_sane CHECK ((until_earliest IS NULL OR until_latest IS NULL OR until_earliest <= until_latest) AND (until_doubt = '' OR until_doubt = '~' OR until_doubt = '?' OR until_doubt = '%' OR until_doubt = 's')),
        CONSTRAINT fk_building_name_building_id FOREIGN KEY(building_id) REFERENCES building (id),
        CONSTRAINT fk_building_name_source_id FOREIGN KEY(source_id) REFERENCES source (id)
    ) STRICT
    """,
    """
    CREATE TABLE building_site (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        building_id INTEGER NOT NULL,
        place_id INTEGER NOT NULL,
        words TEXT,
        latitude_deg REAL,
        longitude_deg REAL,
        from_edtf TEXT,
        from_words TEXT,
        from_earliest INTEGER,
        from_latest INTEGER,
        from_doubt TEXT DEFAULT '' NOT NULL,
        until_edtf TEXT,
        until_words TEXT,
        until_earliest INTEGER,
        until_latest INTEGER,
        until_doubt TEXT DEFAULT '' NOT NULL,
        source_id INTEGER,
        CONSTRAINT ck_building_site_latitude_sane CHECK (latitude_deg BETWEEN -90 AND 90),
        CONSTRAINT ck_building_site_longitude_sane CHECK (longitude_deg BETWEEN -180 AND 180),
        CONSTRAINT ck_building_site_from_sane CHECK ((from_earliest IS NULL OR from_latest IS NULL OR from_earliest <= from_latest) AND (from_doubt = '' OR from_doubt = '~' OR from_doubt = '?' OR from_doubt = '%' OR from_doubt = 's')),
        CONSTRAINT ck_building_site_until_sane CHECK ((until_earliest IS NULL OR until_latest IS NULL OR until_earliest <= until_latest) AND (until_doubt = '' OR until_doubt = '~' OR until_doubt = '?' OR until_doubt = '%' OR until_doubt = 's')),
        CONSTRAINT fk_building_site_building_id FOREIGN KEY(building_id) REFERENCES building (id),
        CONSTRAINT fk_building_site_place_id FOREIGN KEY(place_id) REFERENCES place (id),
        CONSTRAINT fk_building_site_source_id FOREIGN KEY(source_id) REFERENCES source (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_building_site_building_id ON building_site (building_id)
    """,
    """
    CREATE INDEX ix_building_site_place_id_building_id ON building_site (place_id, building_id)
    """,
    """
    CREATE TABLE camera (
        id INTEGER NOT NULL,
        format TEXT,
        opening_width_mm REAL,
        opening_height_mm REAL,
        CONSTRAINT pk_camera PRIMARY KEY (id),
        CONSTRAINT ck_camera_opening_sane CHECK (opening_width_mm > 0 AND opening_height_mm > 0),
        CONSTRAINT fk_camera_id FOREIGN KEY(id) REFERENCES kit (id)
    ) STRICT
    """,
    """
    CREATE TABLE chronicle_entry (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        building_id INTEGER NOT NULL,
        kind TEXT NOT NULL,
        date_edtf TEXT,
        date_words TEXT,
        date_earliest INTEGER,
        date_latest INTEGER,
        date_doubt TEXT DEFAULT '' NOT NULL,
        text TEXT NOT NULL,
        doer TEXT,
        doer_id INTEGER,
        source_id INTEGER,
        CONSTRAINT ck_chronicle_entry_kind_known CHECK (kind = 'raised' OR kind = 'enlarged' OR kind = 'altered' OR kind = 'clad' OR kind = 'restored' OR kind = 'moved' OR kind = 'turned' OR kind = 'damaged' OR kind = 'burned' OR kind = 'fell into ruin' OR kind = 'razed' OR kind = 'recorded' OR kind = 'changed use' OR kind = 'other'),
        CONSTRAINT ck_chronicle_entry_date_sane CHECK ((date_earliest IS NULL OR date_latest IS NULL OR date_earliest <= date_latest) AND (date_doubt = '' OR date_doubt = '~' OR date_doubt = '?' OR date_doubt = '%' OR date_doubt = 's')),
        CONSTRAINT fk_chronicle_entry_building_id FOREIGN KEY(building_id) REFERENCES building (id),
        CONSTRAINT fk_chronicle_entry_doer_id FOREIGN KEY(doer_id) REFERENCES person (id),
        CONSTRAINT fk_chronicle_entry_source_id FOREIGN KEY(source_id) REFERENCES source (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_chronicle_entry_building_id_date_earliest ON chronicle_entry (building_id, date_earliest)
    """,
    """
    CREATE TABLE deed_change (
        id INTEGER NOT NULL,
        deed_id INTEGER NOT NULL,
        record_table TEXT NOT NULL,
        record_id INTEGER NOT NULL,
        change TEXT NOT NULL,
        "before" TEXT,
        "after" TEXT,
        CONSTRAINT pk_deed_change PRIMARY KEY (id),
        CONSTRAINT ck_deed_change_change_known CHECK (change = 'added' OR change = 'changed' OR change = 'removed'),
        CONSTRAINT fk_deed_change_deed_id FOREIGN KEY(deed_id) REFERENCES deed (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_deed_change_deed ON deed_change (deed_id)
    """,
    """
    CREATE INDEX ix_deed_change_record ON deed_change (record_table, record_id)
    """,
    """
    CREATE TABLE deed_file (
        id INTEGER NOT NULL,
        deed_id INTEGER NOT NULL,
        path TEXT NOT NULL,
        state TEXT NOT NULL,
        "before" BLOB,
        before_sha256 TEXT,
        after_sha256 TEXT,
        reason TEXT,
        CONSTRAINT pk_deed_file PRIMARY KEY (id),
        CONSTRAINT ck_deed_file_state_known CHECK (state = 'intended' OR state = 'done' OR state = 'not done'),
        CONSTRAINT fk_deed_file_deed_id FOREIGN KEY(deed_id) REFERENCES deed (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_deed_file_deed ON deed_file (deed_id)
    """,
    """
    CREATE INDEX ix_deed_file_intended ON deed_file (state) WHERE state = 'intended'
    """,
    """
    CREATE TABLE elevation (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        building_id INTEGER NOT NULL,
        compass TEXT NOT NULL,
        name TEXT,
        bearing_deg REAL,
        from_edtf TEXT,
        from_words TEXT,
        from_earliest INTEGER,
        from_latest INTEGER,
        from_doubt TEXT DEFAULT '' NOT NULL,
        until_edtf TEXT,
        until_words TEXT,
        until_earliest INTEGER,
        until_latest INTEGER,
        until_doubt TEXT DEFAULT '' NOT NULL,
        CONSTRAINT ck_elevation_compass_known CHECK (compass = 'N' OR compass = 'NNE' OR compass = 'NE' OR compass = 'ENE' OR compass = 'E' OR compass = 'ESE' OR compass = 'SE' OR compass = 'SSE' OR compass = 'S' OR compass = 'SSW' OR compass = 'SW' OR compass = 'WSW' OR compass = 'W' OR compass = 'WNW' OR compass = 'NW' OR compass = 'NNW'),
        CONSTRAINT ck_elevation_bearing_sane CHECK (bearing_deg >= 0 AND bearing_deg < 360),
        CONSTRAINT ck_elevation_from_sane CHECK ((from_earliest IS NULL OR from_latest IS NULL OR from_earliest <= from_latest) AND (from_doubt = '' OR from_doubt = '~' OR from_doubt = '?' OR from_doubt = '%' OR from_doubt = 's')),
        CONSTRAINT ck_elevation_until_sane CHECK ((until_earliest IS NULL OR until_latest IS NULL OR until_earliest <= until_latest) AND (until_doubt = '' OR until_doubt = '~' OR until_doubt = '?' OR until_doubt = '%' OR until_doubt = 's')),
        CONSTRAINT fk_elevation_building_id FOREIGN KEY(building_id) REFERENCES building (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_elevation_building_id ON elevation (building_id)
    """,
    """
    CREATE TABLE file (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        drive_id INTEGER,
        path TEXT NOT NULL,
        raw_path BLOB,
        path_key TEXT NOT NULL,
        size_bytes INTEGER NOT NULL,
        modified_ns INTEGER NOT NULL,
        sha256 TEXT NOT NULL,
        picture_sha256 TEXT,
        state TEXT DEFAULT 'present' NOT NULL,
        damage TEXT,
        first_seen_at TEXT NOT NULL,
        last_checked_at TEXT NOT NULL,
        last_good_at TEXT,
        CONSTRAINT ck_file_state_known CHECK (state = 'present' OR state = 'missing' OR state = 'damaged'),
        CONSTRAINT fk_file_drive_id FOREIGN KEY(drive_id) REFERENCES drive (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_file_path_key ON file (path_key)
    """,
    """
    CREATE INDEX ix_file_picture_sha256 ON file (picture_sha256)
    """,
    """
    CREATE INDEX ix_file_sha256 ON file (sha256)
    """,
    """
    CREATE UNIQUE INDEX uq_file_place ON file (ifnull(drive_id, 0), path)
    """,
    """
    CREATE TABLE film_stock (
        id INTEGER NOT NULL,
        tones TEXT,
        iso REAL,
        base TEXT,
        CONSTRAINT pk_film_stock PRIMARY KEY (id),
        CONSTRAINT ck_film_stock_tones_known CHECK (tones IS NULL OR tones = 'black and white' OR tones = 'colour negative' OR tones = 'transparency'),
        CONSTRAINT ck_film_stock_base_known CHECK (base IS NULL OR base = 'nitrate' OR base = 'acetate' OR base = 'polyester' OR base = 'glass' OR base = 'paper'),
        CONSTRAINT ck_film_stock_speed_sane CHECK (iso > 0),
        CONSTRAINT fk_film_stock_id FOREIGN KEY(id) REFERENCES kit (id)
    ) STRICT
    """,
    """
    CREATE TABLE lens (
        id INTEGER NOT NULL,
        focal_length_mm REAL NOT NULL,
        widest_f_number REAL,
        coverage_deg REAL,
        CONSTRAINT pk_lens PRIMARY KEY (id),
        CONSTRAINT ck_lens_focal_length_sane CHECK (focal_length_mm > 0),
        CONSTRAINT ck_lens_aperture_sane CHECK (widest_f_number > 0),
        CONSTRAINT ck_lens_coverage_sane CHECK (coverage_deg > 0 AND coverage_deg < 180),
        CONSTRAINT fk_lens_id FOREIGN KEY(id) REFERENCES kit (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_lens_focal_length_mm ON lens (focal_length_mm)
    """,
    """
    CREATE TABLE open_question (
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
        CONSTRAINT ck_open_question_about_known CHECK (about IS NULL OR about = 'sheet' OR about = 'scan' OR about = 'building' OR about = 'place' OR about = 'view' OR about = 'standpoint' OR about = 'visit' OR about = 'person' OR about = 'source' OR about = 'roll' OR about = 'kit' OR about = 'drive'),
        CONSTRAINT ck_open_question_settled_whole CHECK ((answer IS NULL) = (settled_at IS NULL)),
        CONSTRAINT fk_open_question_ask_id FOREIGN KEY(ask_id) REFERENCES person (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_open_question_about_about_id ON open_question (about, about_id)
    """,
    """
    CREATE TABLE place_name (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        place_id INTEGER NOT NULL,
        name TEXT NOT NULL,
        from_edtf TEXT,
        from_words TEXT,
        from_earliest INTEGER,
        from_latest INTEGER,
        from_doubt TEXT DEFAULT '' NOT NULL,
        until_edtf TEXT,
        until_words TEXT,
        until_earliest INTEGER,
        until_latest INTEGER,
        until_doubt TEXT DEFAULT '' NOT NULL,
        note TEXT,
        source_id INTEGER,
        CONSTRAINT uq_place_name_place_id_name UNIQUE (place_id, name),
        CONSTRAINT ck_place_name_named CHECK (name <> ''),
        CONSTRAINT ck_place_name_from_sane CHECK ((from_earliest IS NULL OR from_latest IS NULL OR from_earliest <= from_latest) AND (from_doubt = '' OR from_doubt = '~' OR from_doubt = '?' OR from_doubt = '%' OR from_doubt = 's')),
        CONSTRAINT ck_place_name_until_sane CHECK ((until_earliest IS NULL OR until_latest IS NULL OR until_earliest <= until_latest) AND (until_doubt = '' OR until_doubt = '~' OR until_doubt = '?' OR until_doubt = '%' OR until_doubt = 's')),
        CONSTRAINT fk_place_name_place_id FOREIGN KEY(place_id) REFERENCES place (id),
        CONSTRAINT fk_place_name_source_id FOREIGN KEY(source_id) REFERENCES source (id)
    ) STRICT
    """,
    """
    CREATE TABLE place_parent (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        place_id INTEGER NOT NULL,
        parent_id INTEGER NOT NULL,
        from_edtf TEXT,
        from_words TEXT,
        from_earliest INTEGER,
        from_latest INTEGER,
        from_doubt TEXT DEFAULT '' NOT NULL,
        until_edtf TEXT,
        until_words TEXT,
        until_earliest INTEGER,
        until_latest INTEGER,
        until_doubt TEXT DEFAULT '' NOT NULL,
        source_id INTEGER,
        CONSTRAINT ck_place_parent_not_itself CHECK (place_id <> parent_id),
        CONSTRAINT ck_place_parent_from_sane CHECK ((from_earliest IS NULL OR from_latest IS NULL OR from_earliest <= from_latest) AND (from_doubt = '' OR from_doubt = '~' OR from_doubt = '?' OR from_doubt = '%' OR from_doubt = 's')),
        CONSTRAINT ck_place_parent_until_sane CHECK ((until_earliest IS NULL OR until_latest IS NULL OR until_earliest <= until_latest) AND (until_doubt = '' OR until_doubt = '~' OR until_doubt = '?' OR until_doubt = '%' OR until_doubt = 's')),
        CONSTRAINT fk_place_parent_place_id FOREIGN KEY(place_id) REFERENCES place (id),
        CONSTRAINT fk_place_parent_parent_id FOREIGN KEY(parent_id) REFERENCES place (id),
        CONSTRAINT fk_place_parent_source_id FOREIGN KEY(source_id) REFERENCES source (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_place_parent_parent_id_place_id ON place_parent (parent_id, place_id)
    """,
    """
    CREATE INDEX ix_place_parent_place_id ON place_parent (place_id)
    """,
    """
    CREATE TABLE standpoint (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        words TEXT NOT NULL,
        place_id INTEGER,
        latitude_deg REAL,
        longitude_deg REAL,
        height_m REAL,
        alignments TEXT,
        CONSTRAINT ck_standpoint_described CHECK (words <> ''),
        CONSTRAINT ck_standpoint_height_sane CHECK (height_m > 0),
        CONSTRAINT ck_standpoint_latitude_sane CHECK (latitude_deg BETWEEN -90 AND 90),
        CONSTRAINT ck_standpoint_longitude_sane CHECK (longitude_deg BETWEEN -180 AND 180),
        CONSTRAINT fk_standpoint_place_id FOREIGN KEY(place_id) REFERENCES place (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_standpoint_place_id ON standpoint (place_id)
    """,
    """
    CREATE TABLE visit (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        date_edtf TEXT,
        date_words TEXT,
        date_earliest INTEGER,
        date_latest INTEGER,
        date_doubt TEXT DEFAULT '' NOT NULL,
        place_id INTEGER,
        light TEXT,
        weather TEXT,
        company TEXT,
        said TEXT,
        CONSTRAINT ck_visit_date_sane CHECK ((date_earliest IS NULL OR date_latest IS NULL OR date_earliest <= date_latest) AND (date_doubt = '' OR date_doubt = '~' OR date_doubt = '?' OR date_doubt = '%' OR date_doubt = 's')),
        CONSTRAINT fk_visit_place_id FOREIGN KEY(place_id) REFERENCES place (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_visit_place_id ON visit (place_id)
    """,
    """
    CREATE TABLE roll (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        name TEXT,
        film_id INTEGER,
        camera_id INTEGER,
        docket TEXT,
        development TEXT,
        CONSTRAINT fk_roll_film_id FOREIGN KEY(film_id) REFERENCES film_stock (id),
        CONSTRAINT fk_roll_camera_id FOREIGN KEY(camera_id) REFERENCES camera (id)
    ) STRICT
    """,
    """
    CREATE TABLE scan (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        file_id INTEGER NOT NULL,
        scanned_edtf TEXT,
        scanned_words TEXT,
        scanned_earliest INTEGER,
        scanned_latest INTEGER,
        scanned_doubt TEXT DEFAULT '' NOT NULL,
        kind TEXT NOT NULL,
        device_maker TEXT,
        device_model TEXT,
        software TEXT,
        width_px INTEGER,
        height_px INTEGER,
        bits INTEGER,
        channels INTEGER,
        extra_channels INTEGER,
        colour TEXT,
        compression TEXT,
        recorded_ppi REAL,
        worked_out_ppi REAL,
        profile TEXT,
        white_is_zero INTEGER,
        orientation INTEGER,
        polarity TEXT,
        is_reversed INTEGER,
        pages INTEGER,
        description TEXT,
        facts TEXT,
        CONSTRAINT ck_scan_polarity_known CHECK (polarity IS NULL OR polarity = 'negative' OR polarity = 'positive'),
        CONSTRAINT ck_scan_ppi_sane CHECK (recorded_ppi > 1 AND worked_out_ppi > 1),
        CONSTRAINT ck_scan_reversed_yes_no CHECK (is_reversed IN (0, 1)),
        CONSTRAINT ck_scan_scanned_sane CHECK ((scanned_earliest IS NULL OR scanned_latest IS NULL OR scanned_earliest <= scanned_latest) AND (scanned_doubt = '' OR scanned_doubt = '~' OR scanned_doubt = '?' OR scanned_doubt = '%' OR scanned_doubt = 's')),
        CONSTRAINT uq_scan_file_id UNIQUE (file_id),
        CONSTRAINT fk_scan_file_id FOREIGN KEY(file_id) REFERENCES file (id)
    ) STRICT
    """,
    """
    CREATE TABLE "view" (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        title TEXT,
        standpoint_id INTEGER,
        standpoint_certainty TEXT DEFAULT 'certain' NOT NULL,
        visit_id INTEGER,
        CONSTRAINT fk_view_standpoint_id FOREIGN KEY(standpoint_id) REFERENCES standpoint (id),
        CONSTRAINT fk_view_visit_id FOREIGN KEY(visit_id) REFERENCES visit (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_view_standpoint_id ON "view" (standpoint_id)
    """,
    """
    CREATE INDEX ix_view_visit_id ON "view" (visit_id)
    """,
    """
    CREATE TABLE sheet (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        roll_id INTEGER,
        frame TEXT,
        medium TEXT,
        base TEXT,
        format TEXT,
        film_id INTEGER,
        holder_side TEXT,
        exposed_edtf TEXT,
        exposed_words TEXT,
        exposed_earliest INTEGER,
        exposed_latest INTEGER,
        exposed_doubt TEXT DEFAULT '' NOT NULL,
        lens_id INTEGER,
        camera_id INTEGER,
        aperture_f REAL,
        shutter_s REAL,
        filter TEXT,
        rise_mm REAL,
        shift_mm REAL,
        tilt_deg REAL,
        swing_deg REAL,
        extension_mm REAL,
        development TEXT,
        lab_id INTEGER,
        docket TEXT,
        box TEXT,
        sleeve TEXT,
        fate TEXT DEFAULT 'exposed' NOT NULL,
        fate_date_edtf TEXT,
        fate_date_words TEXT,
        fate_date_earliest INTEGER,
        fate_date_latest INTEGER,
        fate_date_doubt TEXT DEFAULT '' NOT NULL,
        condition TEXT,
        copied_from_id INTEGER,
        CONSTRAINT ck_sheet_medium_known CHECK (medium IS NULL OR medium = 'negative' OR medium = 'transparency' OR medium = 'glass plate' OR medium = 'lantern slide' OR medium = 'copy negative' OR medium = 'print'),
        CONSTRAINT ck_sheet_fate_known CHECK (fate = 'exposed' OR fate = 'blank' OR fate = 'doubly exposed' OR fate = 'fogged' OR fate = 'with lab' OR fate = 'lost at lab' OR fate = 'not returned' OR fate = 'destroyed'),
        CONSTRAINT ck_sheet_aperture_sane CHECK (aperture_f > 0),
        CONSTRAINT ck_sheet_shutter_sane CHECK (shutter_s > 0),
        CONSTRAINT ck_sheet_extension_sane CHECK (extension_mm > 0),
        CONSTRAINT ck_sheet_not_its_own_copy CHECK (copied_from_id <> id),
        CONSTRAINT ck_sheet_exposed_sane CHECK ((exposed_earliest IS NULL OR exposed_latest IS NULL OR exposed_earliest <= exposed_latest) AND (exposed_doubt = '' OR exposed_doubt = '~' OR exposed_doubt = '?' OR exposed_doubt = '%' OR exposed_doubt = 's')),
        CONSTRAINT ck_sheet_fate_date_sane CHECK ((fate_date_earliest IS NULL OR fate_date_latest IS NULL OR fate_date_earliest <= fate_date_latest) AND (fate_date_doubt = '' OR fate_date_doubt = '~' OR fate_date_doubt = '?' OR fate_date_doubt = '%' OR fate_date_doubt = 's')),
        CONSTRAINT fk_sheet_roll_id FOREIGN KEY(roll_id) REFERENCES roll (id),
        CONSTRAINT fk_sheet_film_id FOREIGN KEY(film_id) REFERENCES film_stock (id),
        CONSTRAINT fk_sheet_lens_id FOREIGN KEY(lens_id) REFERENCES lens (id),
        CONSTRAINT fk_sheet_camera_id FOREIGN KEY(camera_id) REFERENCES camera (id),
        CONSTRAINT fk_sheet_lab_id FOREIGN KEY(lab_id) REFERENCES person (id),
        CONSTRAINT fk_sheet_copied_from_id FOREIGN KEY(copied_from_id) REFERENCES sheet (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_sheet_exposed ON sheet (exposed_earliest, exposed_latest)
    """,
    """
    CREATE INDEX ix_sheet_film_id ON sheet (film_id)
    """,
    """
    CREATE INDEX ix_sheet_lens_id ON sheet (lens_id)
    """,
    """
    CREATE INDEX ix_sheet_roll_id ON sheet (roll_id)
    """,
    """
    CREATE TABLE sidecar (
        scan_id INTEGER NOT NULL,
        name TEXT NOT NULL,
        sha256 TEXT NOT NULL,
        written_at TEXT NOT NULL,
        content BLOB NOT NULL,
        CONSTRAINT pk_sidecar PRIMARY KEY (scan_id),
        CONSTRAINT ck_sidecar_sha256_whole CHECK (length(sha256) = 64),
        CONSTRAINT fk_sidecar_scan_id FOREIGN KEY(scan_id) REFERENCES scan (id)
    ) STRICT
    """,
    """
    CREATE TABLE view_subject (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        view_id INTEGER NOT NULL,
        building_id INTEGER,
        place_id INTEGER,
        elevation TEXT,
        part TEXT,
        certainty TEXT DEFAULT 'certain' NOT NULL,
        is_principal INTEGER DEFAULT '0' NOT NULL,
        CONSTRAINT ck_view_subject_one_subject CHECK ((building_id IS NULL) <> (place_id IS NULL)),
        CONSTRAINT ck_view_subject_elevation_known CHECK (elevation IS NULL OR elevation = 'N' OR elevation = 'NNE' OR elevation = 'NE' OR elevation = 'ENE' OR elevation = 'E' OR elevation = 'ESE' OR elevation = 'SE' OR elevation = 'SSE' OR elevation = 'S' OR elevation = 'SSW' OR elevation = 'SW' OR elevation = 'WSW' OR elevation = 'W' OR elevation = 'WNW' OR elevation = 'NW' OR elevation = 'NNW'),
        CONSTRAINT ck_view_subject_part_known CHECK (part IS NULL OR part = 'elevation' OR part = 'interior' OR part = 'detail' OR part = 'surroundings'),
        CONSTRAINT ck_view_subject_certainty_known CHECK (certainty = 'certain' OR certainty = 'probable' OR certainty = 'possible'),
        CONSTRAINT ck_view_subject_principal_yes_no CHECK (is_principal IN (0, 1)),
        CONSTRAINT fk_view_subject_view_id FOREIGN KEY(view_id) REFERENCES "view" (id),
        CONSTRAINT fk_view_subject_building_id FOREIGN KEY(building_id) REFERENCES building (id),
        CONSTRAINT fk_view_subject_place_id FOREIGN KEY(place_id) REFERENCES place (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_view_subject_building ON view_subject (building_id, view_id, certainty, elevation)
    """,
    """
    CREATE INDEX ix_view_subject_place ON view_subject (place_id, view_id, certainty, elevation)
    """,
    """
    CREATE INDEX ix_view_subject_view ON view_subject (view_id)
    """,
    """
    CREATE UNIQUE INDEX uq_view_subject_principal ON view_subject (view_id) WHERE is_principal = 1
    """,
    """
    CREATE TABLE card_row (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        card_file_id INTEGER NOT NULL,
        "row" INTEGER NOT NULL,
        row_key TEXT NOT NULL,
        digest TEXT NOT NULL,
        cells TEXT NOT NULL,
        facts TEXT,
        sheet_id INTEGER,
        CONSTRAINT uq_card_row_card_file_id_row UNIQUE (card_file_id, "row"),
        CONSTRAINT fk_card_row_card_file_id FOREIGN KEY(card_file_id) REFERENCES card_file (id),
        CONSTRAINT fk_card_row_sheet_id FOREIGN KEY(sheet_id) REFERENCES sheet (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_card_row_sheet_id ON card_row (sheet_id)
    """,
    """
    CREATE TABLE scan_part (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        scan_id INTEGER NOT NULL,
        sheet_id INTEGER NOT NULL,
        region TEXT,
        matched_by TEXT NOT NULL,
        matched_text TEXT,
        CONSTRAINT uq_scan_part_scan_id_sheet_id UNIQUE (scan_id, sheet_id),
        CONSTRAINT ck_scan_part_matched_by_known CHECK (matched_by = 'name' OR matched_by = 'hand'),
        CONSTRAINT fk_scan_part_scan_id FOREIGN KEY(scan_id) REFERENCES scan (id),
        CONSTRAINT fk_scan_part_sheet_id FOREIGN KEY(sheet_id) REFERENCES sheet (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_scan_part_sheet ON scan_part (sheet_id, scan_id)
    """,
    """
    CREATE TABLE sheet_number (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        sheet_id INTEGER NOT NULL,
        text TEXT NOT NULL,
        folded TEXT NOT NULL,
        scheme TEXT DEFAULT '' NOT NULL,
        written_on TEXT DEFAULT '' NOT NULL,
        CONSTRAINT ck_sheet_number_written CHECK (text <> ''),
        CONSTRAINT uq_sheet_number_sheet_id_text_scheme_written_on UNIQUE (sheet_id, text, scheme, written_on),
        CONSTRAINT fk_sheet_number_sheet_id FOREIGN KEY(sheet_id) REFERENCES sheet (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_sheet_number_folded ON sheet_number (folded)
    """,
    """
    CREATE TABLE sheet_view (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        sheet_id INTEGER NOT NULL,
        view_id INTEGER NOT NULL,
        CONSTRAINT uq_sheet_view_sheet_id_view_id UNIQUE (sheet_id, view_id),
        CONSTRAINT fk_sheet_view_sheet_id FOREIGN KEY(sheet_id) REFERENCES sheet (id),
        CONSTRAINT fk_sheet_view_view_id FOREIGN KEY(view_id) REFERENCES "view" (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_sheet_view_view ON sheet_view (view_id, sheet_id)
    """,
    """
    CREATE TABLE note (
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
        CONSTRAINT ck_note_about_known CHECK (about = 'sheet' OR about = 'scan' OR about = 'building' OR about = 'place' OR about = 'view' OR about = 'standpoint' OR about = 'visit' OR about = 'person' OR about = 'source' OR about = 'roll' OR about = 'kit' OR about = 'drive'),
        CONSTRAINT ck_note_said CHECK (text <> ''),
        CONSTRAINT fk_note_card_row_id FOREIGN KEY(card_row_id) REFERENCES card_row (id),
        CONSTRAINT fk_note_said_by_id FOREIGN KEY(said_by_id) REFERENCES person (id),
        CONSTRAINT fk_note_source_id FOREIGN KEY(source_id) REFERENCES source (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_note_about_about_id ON note (about, about_id)
    """,
    """
    CREATE TABLE wording (
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
        CONSTRAINT ck_wording_about_known CHECK (about = 'sheet' OR about = 'scan' OR about = 'building' OR about = 'place' OR about = 'view' OR about = 'standpoint' OR about = 'visit' OR about = 'person' OR about = 'source' OR about = 'roll' OR about = 'kit' OR about = 'drive'),
        CONSTRAINT ck_wording_certainty_known CHECK (certainty = 'certain' OR certainty = 'probable' OR certainty = 'possible'),
        CONSTRAINT fk_wording_source_id FOREIGN KEY(source_id) REFERENCES source (id),
        CONSTRAINT fk_wording_card_row_id FOREIGN KEY(card_row_id) REFERENCES card_row (id),
        CONSTRAINT fk_wording_said_by_id FOREIGN KEY(said_by_id) REFERENCES person (id)
    ) STRICT
    """,
    """
    CREATE INDEX ix_wording_about_about_id_field ON wording (about, about_id, field)
    """,
]

# A note, a wording or a question is about a record that is there, and keeps it there: a foreign key cannot
# point to one of several tables.
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
)


def about_triggers() -> list[str]:
    """Return the triggers that keep what is said of a record, and the record, together."""
    # CASE stops at the one table that counts; a row of a bulk load passes here tens of thousands of times.
    missing = (
        "CASE NEW.about "
        + " ".join(f"WHEN '{table}' THEN NOT EXISTS (SELECT 1 FROM {table} WHERE id = NEW.about_id)" for table in ABOUT)
        + " END"
    )
    made = []
    for said in ("note", "wording", "open_question"):
        for moment in ("INSERT", "UPDATE OF about, about_id"):
            made.append(
                f"CREATE TRIGGER {said}_about_{moment[:6].lower()} BEFORE {moment} ON {said} WHEN {missing}"
                f" BEGIN SELECT RAISE(ABORT, '{said} is about a record that is not there'); END"
            )
    for table in ABOUT:
        held = " OR ".join(
            f"EXISTS (SELECT 1 FROM {said} WHERE about = '{table}' AND about_id = OLD.id)"
            for said in ("note", "wording", "open_question")
        )
        made.append(
            f"CREATE TRIGGER {table}_said_of BEFORE DELETE ON {table} WHEN {held}"
            f" BEGIN SELECT RAISE(ABORT, 'notes, wordings or questions are about this {table}'); END"
        )
    return made


# A place never lies, however far up, within itself.
NO_CIRCLES = """
    CREATE TRIGGER place_parent_{moment} BEFORE {event} ON place_parent
    WHEN EXISTS (
        WITH RECURSIVE above(id) AS (
            VALUES (NEW.parent_id)
            UNION
            SELECT parent_id FROM place_parent JOIN above ON place_parent.place_id = above.id
        )
        SELECT 1 FROM above WHERE id = NEW.place_id
    )
    BEGIN SELECT RAISE(ABORT, 'a place cannot belong to itself'); END
"""

KIT_KIND = """
    CREATE TRIGGER {table}_is_{table} BEFORE INSERT ON {table}
    WHEN NOT EXISTS (SELECT 1 FROM kit WHERE id = NEW.id AND kind = '{table}')
    BEGIN SELECT RAISE(ABORT, 'this reference is not of a {table}'); END
"""

# The daybook is only added to.
DAYBOOK = [
    "CREATE TRIGGER deed_kept BEFORE DELETE ON deed BEGIN SELECT RAISE(ABORT, 'the daybook is only added to'); END",
    "CREATE TRIGGER deed_change_kept BEFORE DELETE ON deed_change"
    " BEGIN SELECT RAISE(ABORT, 'the daybook is only added to'); END",
    "CREATE TRIGGER deed_change_unaltered BEFORE UPDATE ON deed_change"
    " BEGIN SELECT RAISE(ABORT, 'the daybook is only added to'); END",
]

# One entry a record; FTS5 keeps only the words and finds the text here (engines: external content). The text is
# folded before it comes here, so the tokenizer folds nothing. Who adds an entry adds its words (store/search.py).
SEARCH = [
    """
    CREATE TABLE search_entry (
        id INTEGER NOT NULL PRIMARY KEY,
        record_table TEXT NOT NULL,
        record_id INTEGER NOT NULL,
        text TEXT NOT NULL,
        folded TEXT NOT NULL,
        UNIQUE (record_table, record_id)
    ) STRICT
    """,
    """
    CREATE VIRTUAL TABLE search_words USING fts5(
        folded, content = 'search_entry', content_rowid = 'id', tokenize = 'unicode61 remove_diacritics 0'
    )
    """,
    """
    CREATE TRIGGER search_entry_removed AFTER DELETE ON search_entry
    BEGIN INSERT INTO search_words (search_words, rowid, folded) VALUES ('delete', OLD.id, OLD.folded); END
    """,
    """
    CREATE TRIGGER search_entry_changed AFTER UPDATE ON search_entry
    BEGIN
        INSERT INTO search_words (search_words, rowid, folded) VALUES ('delete', OLD.id, OLD.folded);
        INSERT INTO search_words (rowid, folded) VALUES (NEW.id, NEW.folded);
    END
    """,
]


def upgrade() -> None:
    """Make the catalogue."""
    for statement in TABLES:
        op.execute(statement)
    for statement in about_triggers():
        op.execute(statement)
    for moment, event in (("insert", "INSERT"), ("update", "UPDATE OF place_id, parent_id")):
        op.execute(NO_CIRCLES.format(moment=moment, event=event))
    for table in ("lens", "camera", "film_stock"):
        op.execute(KIT_KIND.format(table=table))
    for statement in (*DAYBOOK, *SEARCH):
        op.execute(statement)
