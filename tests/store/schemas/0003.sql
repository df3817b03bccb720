PRAGMA foreign_keys = OFF;
BEGIN;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
CREATE TABLE building (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        name TEXT NOT NULL,
        kind TEXT,
        identifier TEXT,
        CONSTRAINT ck_building_named CHECK (name <> '')
    ) STRICT
    ;
CREATE TABLE card_file (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        name TEXT NOT NULL,
        sha256 TEXT NOT NULL,
        encoding TEXT,
        mapping TEXT NOT NULL,
        read_at TEXT NOT NULL,
        CONSTRAINT ck_card_file_sha256_whole CHECK (length(sha256) = 64)
    ) STRICT
    ;
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
    ;
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
    ;
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
    ;
CREATE TABLE person (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        name TEXT NOT NULL,
        kind TEXT DEFAULT 'person' NOT NULL,
        role TEXT,
        address TEXT,
        contact TEXT,
        CONSTRAINT ck_person_kind_known CHECK (kind = 'person' OR kind = 'firm')
    ) STRICT
    ;
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
    ;
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
    ;
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
    ;
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
    ;
CREATE TABLE camera (
        id INTEGER NOT NULL,
        format TEXT,
        opening_width_mm REAL,
        opening_height_mm REAL,
        CONSTRAINT pk_camera PRIMARY KEY (id),
        CONSTRAINT ck_camera_opening_sane CHECK (opening_width_mm > 0 AND opening_height_mm > 0),
        CONSTRAINT fk_camera_id FOREIGN KEY(id) REFERENCES kit (id)
    ) STRICT
    ;
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
    ;
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
    ;
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
    ;
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
    ;
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
    ;
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
    ;
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
    ;
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
    ;
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
    ;
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
    ;
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
    ;
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
    ;
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
    ;
CREATE TABLE "view" (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        title TEXT,
        standpoint_id INTEGER,
        standpoint_certainty TEXT DEFAULT 'certain' NOT NULL,
        visit_id INTEGER,
        CONSTRAINT fk_view_standpoint_id FOREIGN KEY(standpoint_id) REFERENCES standpoint (id),
        CONSTRAINT fk_view_visit_id FOREIGN KEY(visit_id) REFERENCES visit (id)
    ) STRICT
    ;
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
    ;
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
    ;
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
    ;
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
    ;
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
    ;
CREATE TABLE sheet_view (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        sheet_id INTEGER NOT NULL,
        view_id INTEGER NOT NULL,
        CONSTRAINT uq_sheet_view_sheet_id_view_id UNIQUE (sheet_id, view_id),
        CONSTRAINT fk_sheet_view_sheet_id FOREIGN KEY(sheet_id) REFERENCES sheet (id),
        CONSTRAINT fk_sheet_view_view_id FOREIGN KEY(view_id) REFERENCES "view" (id)
    ) STRICT
    ;
CREATE TABLE search_entry (
        id INTEGER NOT NULL PRIMARY KEY,
        record_table TEXT NOT NULL,
        record_id INTEGER NOT NULL,
        text TEXT NOT NULL,
        folded TEXT NOT NULL,
        UNIQUE (record_table, record_id)
    ) STRICT
    ;
CREATE VIRTUAL TABLE search_words USING fts5(
        folded, content = 'search_entry', content_rowid = 'id', tokenize = 'unicode61 remove_diacritics 0'
    );
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
    ;
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
    ;
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
    ;
CREATE TABLE "note" (
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
        ;
CREATE TABLE "wording" (
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
        ;
CREATE TABLE "open_question" (
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
        ;
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
    ;
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
    ;
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
    ;
CREATE TABLE edition_sheet (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        edition_id INTEGER NOT NULL,
        sheet_id INTEGER NOT NULL,
        CONSTRAINT uq_edition_sheet_edition_id_sheet_id UNIQUE (edition_id, sheet_id),
        CONSTRAINT fk_edition_sheet_edition_id FOREIGN KEY(edition_id) REFERENCES edition (id),
        CONSTRAINT fk_edition_sheet_sheet_id FOREIGN KEY(sheet_id) REFERENCES sheet (id)
    ) STRICT
    ;
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
    ;
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
    ;
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
    ;
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
    ;
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
    ;
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
    ;
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
    ;
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
    ;
CREATE TABLE document_line (
        id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        document_id INTEGER NOT NULL,
        print_id INTEGER NOT NULL,
        CONSTRAINT uq_document_line_document_id_print_id UNIQUE (document_id, print_id),
        CONSTRAINT fk_document_line_document_id FOREIGN KEY(document_id) REFERENCES document (id),
        CONSTRAINT fk_document_line_print_id FOREIGN KEY(print_id) REFERENCES print (id)
    ) STRICT
    ;
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
    ;
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
    ;
CREATE TABLE "card_row" (
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
    ;
INSERT INTO "alembic_version" VALUES ('0003');
INSERT INTO "building" VALUES (1, 'Osk Mill', 'mill', NULL);
INSERT INTO "card_file" VALUES (1, 'cards.csv', 'cccccccccccccccccccccccccccccccccccccccccccccccccccccccccccccccc', NULL, '', '2026-11-25T09:30:00Z');
INSERT INTO "deed" VALUES (1, 'cards read', 'read a small card index', '2026-11-25T09:30:00Z', 'done', '0003', NULL, NULL, NULL, NULL);
INSERT INTO "deed" VALUES (2, 'sheets correct', 'corrected the box of S1', '2026-11-25T09:30:00Z', 'done', '0003', NULL, NULL, NULL, NULL);
INSERT INTO "deed" VALUES (3, 'sidecars write', 'wrote 1 sidecar', '2026-11-25T09:30:00Z', 'done', '0003', NULL, NULL, NULL, NULL);
INSERT INTO "deed" VALUES (4, 'editions open', 'opened an edition of 15', '2026-11-25T09:30:00Z', 'done', '0003', NULL, NULL, NULL, NULL);
INSERT INTO "deed" VALUES (5, 'prints pull', 'pulled 1/15', '2026-11-25T09:30:00Z', 'done', '0003', NULL, NULL, NULL, NULL);
INSERT INTO "drive" VALUES (1, 'Blue', 'mmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmm', '/media/blue', 1, '2026-11-25T09:30:00Z');
INSERT INTO "kit" VALUES (1, 'lens', '90 mm', NULL, NULL, NULL, NULL, NULL, '', NULL, NULL, NULL, NULL, '');
INSERT INTO "kit" VALUES (2, 'camera', 'field camera', NULL, NULL, NULL, NULL, NULL, '', NULL, NULL, NULL, NULL, '');
INSERT INTO "kit" VALUES (3, 'film_stock', 'panchromatic', NULL, NULL, NULL, NULL, NULL, '', NULL, NULL, NULL, NULL, '');
INSERT INTO "person" VALUES (1, 'Ida Thornwick', 'person', 'photographer', NULL, NULL);
INSERT INTO "place" VALUES (1, 'Osk', 'village', NULL, NULL);
INSERT INTO "place" VALUES (2, 'Nether Brome', NULL, NULL, NULL);
INSERT INTO "source" VALUES (1, 'Tithe map', NULL, NULL, '1842', NULL, 672412, 672776, '', NULL);
INSERT INTO "building_name" VALUES (1, 1, 'Lower Mill', NULL, NULL, NULL, NULL, '', NULL, NULL, NULL, NULL, '', 1);
INSERT INTO "building_site" VALUES (1, 1, 1, NULL, 52.1, -2.9, NULL, NULL, NULL, NULL, '', NULL, NULL, NULL, NULL, '', NULL);
INSERT INTO "camera" VALUES (2, NULL, NULL, NULL);
INSERT INTO "chronicle_entry" VALUES (1, 1, 'raised', '1790~', NULL, 653420, 653784, '~', 'built', NULL, NULL, 1);
INSERT INTO "deed_change" VALUES (1, 1, 'person', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (2, 1, 'place', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (3, 1, 'place', 2, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (4, 1, 'source', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (5, 1, 'place_name', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (6, 1, 'building', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (7, 1, 'kit', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (8, 1, 'kit', 2, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (9, 1, 'kit', 3, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (10, 1, 'place_parent', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (11, 1, 'building_name', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (12, 1, 'building_site', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (13, 1, 'chronicle_entry', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (14, 1, 'elevation', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (15, 1, 'drive', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (16, 1, 'camera', 2, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (17, 1, 'film_stock', 3, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (18, 1, 'lens', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (19, 1, 'standpoint', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (20, 1, 'visit', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (21, 1, 'roll', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (22, 1, 'sheet', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (23, 1, 'view', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (24, 1, 'sheet_number', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (25, 1, 'view_subject', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (26, 1, 'sheet', 1, 'changed', '{"roll_id": null}', '{"roll_id": 1}');
INSERT INTO "deed_change" VALUES (27, 1, 'file', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (28, 1, 'sheet_view', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (29, 1, 'scan', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (30, 1, 'scan_part', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (31, 1, 'sidecar', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (32, 1, 'edit_version', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (33, 1, 'edit_version', 2, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (34, 1, 'version_source', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (35, 1, 'card_file', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (36, 1, 'edit_version', 2, 'changed', '{"replaces_id": null}', '{"replaces_id": 1}');
INSERT INTO "deed_change" VALUES (37, 1, 'version_source', 2, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (38, 1, 'card_row', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (39, 1, 'note', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (40, 1, 'open_question', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (41, 1, 'wording', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (42, 2, 'sheet', 1, 'changed', '{"box": "4"}', '{"box": "5"}');
INSERT INTO "deed_change" VALUES (43, 4, 'edition', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (44, 4, 'edition_amendment', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (45, 4, 'edition_sheet', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (46, 4, 'edition_state', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (47, 4, 'run', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (48, 4, 'former_limit', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (49, 4, 'proof_allowance', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (50, 4, 'size', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (51, 4, 'price_step', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (52, 5, 'print_number', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (53, 5, 'ledger_entry', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (54, 5, 'print', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (55, 5, 'document', 1, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (56, 5, 'ledger_entry', 2, 'added', NULL, NULL);
INSERT INTO "deed_change" VALUES (57, 5, 'document_line', 1, 'added', NULL, NULL);
INSERT INTO "deed_file" VALUES (1, 3, '/media/blue/78-14.xmp', 'done', NULL, NULL, 'bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb', NULL);
INSERT INTO "elevation" VALUES (1, 1, 'E', NULL, NULL, NULL, NULL, NULL, NULL, '', NULL, NULL, NULL, NULL, '');
INSERT INTO "file" VALUES (1, 1, '78-14.tif', NULL, '78-14.tif', 8, 1, 'aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa', NULL, 'present', NULL, '2026-11-25T09:30:00Z', '2026-11-25T09:30:00Z', NULL);
INSERT INTO "film_stock" VALUES (3, NULL, NULL, NULL);
INSERT INTO "lens" VALUES (1, 90.0, NULL, NULL);
INSERT INTO "place_name" VALUES (1, 1, 'Oske', NULL, NULL, NULL, NULL, '', '1890~', 'until about 1890', 689944, 690308, '~', NULL, NULL);
INSERT INTO "place_parent" VALUES (1, 1, 2, NULL, NULL, NULL, NULL, '', NULL, NULL, NULL, NULL, '', NULL);
INSERT INTO "standpoint" VALUES (1, 'by the sluice', NULL, NULL, NULL, NULL, NULL);
INSERT INTO "visit" VALUES (1, '1978-08', NULL, 722297, 722327, '', NULL, NULL, NULL, NULL, NULL);
INSERT INTO "roll" VALUES (1, 'roll 3', 3, NULL, NULL, NULL);
INSERT INTO "scan" VALUES (1, 1, '2010-01-05', NULL, 733777, 733777, '', 'TIFF', NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 0, NULL, NULL, NULL);
INSERT INTO "view" VALUES (1, 'Osk Mill from the sluice', 1, 'certain', 1);
INSERT INTO "sheet" VALUES (1, 1, NULL, NULL, NULL, NULL, NULL, NULL, '1978~', 'c. 1978', 722085, 722449, '~', 1, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, '5', NULL, 'exposed', NULL, NULL, NULL, NULL, '', NULL, NULL);
INSERT INTO "sidecar" VALUES (1, '78-14.xmp', 'bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb', '2026-11-25T09:30:00Z', X'3C782F3E');
INSERT INTO "view_subject" VALUES (1, 1, 1, NULL, 'E', NULL, 'probable', 1);
INSERT INTO "scan_part" VALUES (1, 1, 1, NULL, 'name', '78-14');
INSERT INTO "sheet_number" VALUES (1, 1, '78-14', '78-14', 'yearly', 'sleeve');
INSERT INTO "sheet_view" VALUES (1, 1, 1);
INSERT INTO "search_entry" VALUES (1, 'person', 1, 'Ida Thornwick
photographer', 'ida thornwick photographer');
INSERT INTO "search_entry" VALUES (2, 'place', 1, 'Osk
Oske', 'osk oske');
INSERT INTO "search_entry" VALUES (3, 'place', 2, 'Nether Brome', 'nether brome');
INSERT INTO "search_entry" VALUES (4, 'source', 1, 'Tithe map', 'tithe map');
INSERT INTO "search_entry" VALUES (5, 'building', 1, 'Lower Mill
Osk Mill
built', 'lower mill osk mill built');
INSERT INTO "search_entry" VALUES (6, 'kit', 1, '90 mm', '90 mm');
INSERT INTO "search_entry" VALUES (7, 'kit', 2, 'field camera', 'field camera');
INSERT INTO "search_entry" VALUES (8, 'kit', 3, 'panchromatic', 'panchromatic');
INSERT INTO "search_entry" VALUES (9, 'standpoint', 1, 'by the sluice', 'by the sluice');
INSERT INTO "search_entry" VALUES (10, 'roll', 1, 'roll 3', 'roll 3');
INSERT INTO "search_entry" VALUES (12, 'edit_version', 1, 'exhibition', 'exhibition');
INSERT INTO "search_entry" VALUES (13, 'edit_version', 2, 'lost', 'lost');
INSERT INTO "search_entry" VALUES (14, 'open_question', 1, 'Who built it?', 'who built it?');
INSERT INTO "search_entry" VALUES (15, 'sheet', 1, '5
78-14
Lens 90?
Osk Mill from the sluice
left of the door [sic]', '5 78-14 lens 90? osk mill from the sluice left of the door [sic]');
INSERT INTO "search_entry" VALUES (16, 'edition', 1, 'Fifteen prints.
Osk Mill
Two proofs more.', 'fifteen prints osk mill two proofs more');
INSERT INTO "search_entry" VALUES (17, 'print', 1, '[sic] 1/15', '[sic] 1/15');
INSERT INTO "edit_version" VALUES (1, '[]', NULL, 'exhibition', '2010-01-06', NULL, 733778, 733778, '', NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL);
INSERT INTO "edit_version" VALUES (2, NULL, NULL, NULL, NULL, NULL, NULL, NULL, '', NULL, 1, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'lost');
INSERT INTO "version_source" VALUES (1, 1, 1, 1, NULL, NULL);
INSERT INTO "version_source" VALUES (2, 2, 1, NULL, 1, NULL);
INSERT INTO "scan_reading" VALUES (1, 'aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa', '2026-11-25T09:30:00Z', '1', NULL, NULL, NULL, NULL, '{}');
INSERT INTO "note" VALUES (1, 'sheet', 1, NULL, 'left of the door [sic]', 1, NULL, NULL, '2026-11-25T09:30:00Z');
INSERT INTO "wording" VALUES (1, 'sheet', 1, 'lens', 'Lens 90?', 'possible', NULL, NULL, NULL, NULL, '2026-11-25T09:30:00Z');
INSERT INTO "open_question" VALUES (1, 'building', 1, 'Who built it?', NULL, 1, '2026-11-25T09:30:00Z', NULL, NULL);
INSERT INTO "edition" VALUES (1, 1, 'Osk Mill', 'Fifteen prints.', '2011', NULL, 734138, 734502, '', NULL, 'across sizes', NULL, NULL);
INSERT INTO "document" VALUES (1, 'certificate', 1, NULL, NULL, 'A1-certificate.pdf', 'c617a1c5f780d60ae680e095a2f66330265b5c60d4356daab6e63fb686da1c95', '{}', '2026-11-25T09:30:00Z', 'issued', NULL, NULL);
INSERT INTO "edition_amendment" VALUES (1, 1, '2012', NULL, 734503, 734868, '', 'Two proofs more.', NULL, 'proofs', '2026-11-25T09:30:00Z');
INSERT INTO "edition_sheet" VALUES (1, 1, 1);
INSERT INTO "edition_state" VALUES (1, 1, 'open', '2011', NULL, 734138, 734502, '', NULL, '2026-11-25T09:30:00Z');
INSERT INTO "run" VALUES (1, 1, 15, 'fraction', NULL);
INSERT INTO "print_number" VALUES (1, 1, 'numbered', 1, '1/15', 0, '2026-11-25T09:30:00Z');
INSERT INTO "proof_allowance" VALUES (1, 1, 'AP', 2, 1);
INSERT INTO "former_limit" VALUES (1, 1, 1, 'AP', 1);
INSERT INTO "size" VALUES (1, 1, 'small', '30 x 40 cm', NULL);
INSERT INTO "price_step" VALUES (1, 1, NULL, 0, 60000, 'EUR');
INSERT INTO "print" VALUES (1, 1, 1, NULL, 1, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, '2012-03', NULL, 734563, 734593, '', NULL, NULL, NULL, '[sic] 1/15', NULL, 'live');
INSERT INTO "document_line" VALUES (1, 1, 1);
INSERT INTO "ledger_entry" VALUES (1, NULL, 1, 'promised', NULL, NULL, NULL, NULL, '', 1, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, '', NULL, NULL, NULL, NULL, '2026-11-25T09:30:00Z');
INSERT INTO "ledger_entry" VALUES (2, 1, NULL, 'pulled', '2012-03', NULL, 734563, 734593, '', NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, '', NULL, NULL, NULL, NULL, '2026-11-25T09:30:00Z');
INSERT INTO "print_standing" VALUES (1, 'in hand', NULL, NULL, 2, '2012-03', NULL, NULL, NULL, NULL, NULL, 0, 0, 'promised', 1, NULL);
INSERT INTO "card_row" VALUES (1, 1, 4, '78-14', 'd', '{}', NULL, 1, NULL);
DELETE FROM sqlite_sequence;
INSERT INTO "sqlite_sequence" VALUES ('deed', 5);
INSERT INTO "sqlite_sequence" VALUES ('person', 1);
INSERT INTO "sqlite_sequence" VALUES ('place', 2);
INSERT INTO "sqlite_sequence" VALUES ('source', 1);
INSERT INTO "sqlite_sequence" VALUES ('place_name', 1);
INSERT INTO "sqlite_sequence" VALUES ('building', 1);
INSERT INTO "sqlite_sequence" VALUES ('kit', 3);
INSERT INTO "sqlite_sequence" VALUES ('place_parent', 1);
INSERT INTO "sqlite_sequence" VALUES ('building_name', 1);
INSERT INTO "sqlite_sequence" VALUES ('building_site', 1);
INSERT INTO "sqlite_sequence" VALUES ('chronicle_entry', 1);
INSERT INTO "sqlite_sequence" VALUES ('elevation', 1);
INSERT INTO "sqlite_sequence" VALUES ('drive', 1);
INSERT INTO "sqlite_sequence" VALUES ('standpoint', 1);
INSERT INTO "sqlite_sequence" VALUES ('visit', 1);
INSERT INTO "sqlite_sequence" VALUES ('roll', 1);
INSERT INTO "sqlite_sequence" VALUES ('sheet', 1);
INSERT INTO "sqlite_sequence" VALUES ('view', 1);
INSERT INTO "sqlite_sequence" VALUES ('sheet_number', 1);
INSERT INTO "sqlite_sequence" VALUES ('view_subject', 1);
INSERT INTO "sqlite_sequence" VALUES ('file', 1);
INSERT INTO "sqlite_sequence" VALUES ('sheet_view', 1);
INSERT INTO "sqlite_sequence" VALUES ('scan', 1);
INSERT INTO "sqlite_sequence" VALUES ('scan_part', 1);
INSERT INTO "sqlite_sequence" VALUES ('edit_version', 2);
INSERT INTO "sqlite_sequence" VALUES ('version_source', 2);
INSERT INTO "sqlite_sequence" VALUES ('card_file', 1);
INSERT INTO "sqlite_sequence" VALUES ('card_row', 1);
INSERT INTO "sqlite_sequence" VALUES ('note', 1);
INSERT INTO "sqlite_sequence" VALUES ('open_question', 1);
INSERT INTO "sqlite_sequence" VALUES ('wording', 1);
INSERT INTO "sqlite_sequence" VALUES ('edition', 1);
INSERT INTO "sqlite_sequence" VALUES ('edition_amendment', 1);
INSERT INTO "sqlite_sequence" VALUES ('edition_sheet', 1);
INSERT INTO "sqlite_sequence" VALUES ('edition_state', 1);
INSERT INTO "sqlite_sequence" VALUES ('run', 1);
INSERT INTO "sqlite_sequence" VALUES ('former_limit', 1);
INSERT INTO "sqlite_sequence" VALUES ('proof_allowance', 1);
INSERT INTO "sqlite_sequence" VALUES ('size', 1);
INSERT INTO "sqlite_sequence" VALUES ('price_step', 1);
INSERT INTO "sqlite_sequence" VALUES ('print_number', 1);
INSERT INTO "sqlite_sequence" VALUES ('ledger_entry', 2);
INSERT INTO "sqlite_sequence" VALUES ('print', 1);
INSERT INTO "sqlite_sequence" VALUES ('document', 1);
INSERT INTO "sqlite_sequence" VALUES ('document_line', 1);
INSERT INTO search_words (search_words) VALUES ('rebuild');
CREATE INDEX ix_card_file_name ON card_file (name)
    ;
CREATE INDEX ix_deed_under_way ON deed (state) WHERE state = 'under way'
    ;
CREATE INDEX ix_building_site_building_id ON building_site (building_id)
    ;
CREATE INDEX ix_building_site_place_id_building_id ON building_site (place_id, building_id)
    ;
CREATE INDEX ix_chronicle_entry_building_id_date_earliest ON chronicle_entry (building_id, date_earliest)
    ;
CREATE INDEX ix_deed_change_deed ON deed_change (deed_id)
    ;
CREATE INDEX ix_deed_change_record ON deed_change (record_table, record_id)
    ;
CREATE INDEX ix_deed_file_deed ON deed_file (deed_id)
    ;
CREATE INDEX ix_deed_file_intended ON deed_file (state) WHERE state = 'intended'
    ;
CREATE INDEX ix_elevation_building_id ON elevation (building_id)
    ;
CREATE INDEX ix_file_path_key ON file (path_key)
    ;
CREATE INDEX ix_file_picture_sha256 ON file (picture_sha256)
    ;
CREATE INDEX ix_file_sha256 ON file (sha256)
    ;
CREATE UNIQUE INDEX uq_file_place ON file (ifnull(drive_id, 0), path)
    ;
CREATE INDEX ix_lens_focal_length_mm ON lens (focal_length_mm)
    ;
CREATE INDEX ix_place_parent_parent_id_place_id ON place_parent (parent_id, place_id)
    ;
CREATE INDEX ix_place_parent_place_id ON place_parent (place_id)
    ;
CREATE INDEX ix_standpoint_place_id ON standpoint (place_id)
    ;
CREATE INDEX ix_visit_place_id ON visit (place_id)
    ;
CREATE INDEX ix_view_standpoint_id ON "view" (standpoint_id)
    ;
CREATE INDEX ix_view_visit_id ON "view" (visit_id)
    ;
CREATE INDEX ix_sheet_exposed ON sheet (exposed_earliest, exposed_latest)
    ;
CREATE INDEX ix_sheet_film_id ON sheet (film_id)
    ;
CREATE INDEX ix_sheet_lens_id ON sheet (lens_id)
    ;
CREATE INDEX ix_sheet_roll_id ON sheet (roll_id)
    ;
CREATE INDEX ix_view_subject_building ON view_subject (building_id, view_id, certainty, elevation)
    ;
CREATE INDEX ix_view_subject_place ON view_subject (place_id, view_id, certainty, elevation)
    ;
CREATE INDEX ix_view_subject_view ON view_subject (view_id)
    ;
CREATE UNIQUE INDEX uq_view_subject_principal ON view_subject (view_id) WHERE is_principal = 1
    ;
CREATE INDEX ix_scan_part_sheet ON scan_part (sheet_id, scan_id)
    ;
CREATE INDEX ix_sheet_number_folded ON sheet_number (folded)
    ;
CREATE INDEX ix_sheet_view_view ON sheet_view (view_id, sheet_id)
    ;
CREATE INDEX ix_edit_version_replaces_id ON edit_version (replaces_id)
    ;
CREATE INDEX ix_version_source_scan_id ON version_source (scan_id)
    ;
CREATE INDEX ix_version_source_sheet_id ON version_source (sheet_id)
    ;
CREATE INDEX ix_version_source_source_version_id ON version_source (source_version_id)
    ;
CREATE INDEX ix_note_about_about_id ON note (about, about_id)
        ;
CREATE INDEX ix_wording_about_about_id_field ON wording (about, about_id, field)
        ;
CREATE INDEX ix_open_question_about_about_id ON open_question (about, about_id)
        ;
CREATE INDEX ix_edition_view_id ON edition (view_id)
    ;
CREATE INDEX ix_document_person_id ON document (person_id)
    ;
CREATE INDEX ix_edition_amendment_edition_id ON edition_amendment (edition_id)
    ;
CREATE INDEX ix_edition_sheet_sheet_id ON edition_sheet (sheet_id)
    ;
CREATE INDEX ix_edition_state_edition_id ON edition_state (edition_id)
    ;
CREATE INDEX ix_run_edition_id ON run (edition_id)
    ;
CREATE INDEX ix_print_number_ahead ON print_number (run_id, series, ordinal) WHERE is_ahead = 1
    ;
CREATE INDEX ix_former_limit_run_id ON former_limit (run_id)
    ;
CREATE UNIQUE INDEX uq_price_step ON price_step (run_id, ifnull(size_id, 0), from_sold)
    ;
CREATE INDEX ix_print_print_number_id ON print (print_number_id)
    ;
CREATE INDEX ix_print_replaces_id ON print (replaces_id) WHERE replaces_id IS NOT NULL
    ;
CREATE INDEX ix_print_scan_id ON print (scan_id) WHERE scan_id IS NOT NULL
    ;
CREATE INDEX ix_print_sheet_id ON print (sheet_id)
    ;
CREATE INDEX ix_print_version_id ON print (version_id) WHERE version_id IS NOT NULL
    ;
CREATE INDEX ix_print_view_id ON print (view_id) WHERE view_id IS NOT NULL
    ;
CREATE INDEX ix_print_void ON print (print_number_id) WHERE life = 'void'
    ;
CREATE UNIQUE INDEX uq_print_live ON print (print_number_id) WHERE life = 'live'
    ;
CREATE UNIQUE INDEX uq_print_replaces_id ON print (replaces_id) WHERE life <> 'void'
    ;
CREATE INDEX ix_document_line_print_id ON document_line (print_id)
    ;
CREATE INDEX ix_ledger_entry_document_id ON ledger_entry (document_id) WHERE document_id IS NOT NULL
    ;
CREATE INDEX ix_ledger_entry_from_id ON ledger_entry (from_id) WHERE from_id IS NOT NULL
    ;
CREATE INDEX ix_ledger_entry_person_id ON ledger_entry (person_id) WHERE person_id IS NOT NULL
    ;
CREATE INDEX ix_ledger_entry_print_id ON ledger_entry (print_id)
    ;
CREATE INDEX ix_ledger_entry_print_number_id ON ledger_entry (print_number_id) WHERE print_number_id IS NOT NULL
    ;
CREATE INDEX ix_ledger_entry_replacement_id ON ledger_entry (replacement_id) WHERE replacement_id IS NOT NULL
    ;
CREATE UNIQUE INDEX uq_ledger_entry_corrects_id ON ledger_entry (corrects_id) WHERE corrects_id IS NOT NULL
    ;
CREATE INDEX ix_print_standing_custodian_id ON print_standing (custodian_id) WHERE custodian_id IS NOT NULL
    ;
CREATE INDEX ix_print_standing_out ON print_standing (due_latest, print_id) WHERE is_out = 1
    ;
CREATE INDEX ix_print_standing_owner_id ON print_standing (owner_id) WHERE owner_id IS NOT NULL
    ;
CREATE INDEX ix_card_row_sheet_id ON card_row (sheet_id)
    ;
CREATE INDEX ix_card_row_print_id ON card_row (print_id) WHERE print_id IS NOT NULL
    ;
CREATE TRIGGER place_parent_insert BEFORE INSERT ON place_parent
    WHEN EXISTS (
        WITH RECURSIVE above(id) AS (
            VALUES (NEW.parent_id)
            UNION
            SELECT parent_id FROM place_parent JOIN above ON place_parent.place_id = above.id
        )
        SELECT 1 FROM above WHERE id = NEW.place_id
    )
    BEGIN SELECT RAISE(ABORT, 'a place cannot belong to itself'); END;
CREATE TRIGGER place_parent_update BEFORE UPDATE OF place_id, parent_id ON place_parent
    WHEN EXISTS (
        WITH RECURSIVE above(id) AS (
            VALUES (NEW.parent_id)
            UNION
            SELECT parent_id FROM place_parent JOIN above ON place_parent.place_id = above.id
        )
        SELECT 1 FROM above WHERE id = NEW.place_id
    )
    BEGIN SELECT RAISE(ABORT, 'a place cannot belong to itself'); END;
CREATE TRIGGER lens_is_lens BEFORE INSERT ON lens
    WHEN NOT EXISTS (SELECT 1 FROM kit WHERE id = NEW.id AND kind = 'lens')
    BEGIN SELECT RAISE(ABORT, 'this reference is not of a lens'); END;
CREATE TRIGGER camera_is_camera BEFORE INSERT ON camera
    WHEN NOT EXISTS (SELECT 1 FROM kit WHERE id = NEW.id AND kind = 'camera')
    BEGIN SELECT RAISE(ABORT, 'this reference is not of a camera'); END;
CREATE TRIGGER film_stock_is_film_stock BEFORE INSERT ON film_stock
    WHEN NOT EXISTS (SELECT 1 FROM kit WHERE id = NEW.id AND kind = 'film_stock')
    BEGIN SELECT RAISE(ABORT, 'this reference is not of a film_stock'); END;
CREATE TRIGGER deed_kept BEFORE DELETE ON deed BEGIN SELECT RAISE(ABORT, 'the daybook is only added to'); END;
CREATE TRIGGER deed_change_kept BEFORE DELETE ON deed_change BEGIN SELECT RAISE(ABORT, 'the daybook is only added to'); END;
CREATE TRIGGER deed_change_unaltered BEFORE UPDATE ON deed_change BEGIN SELECT RAISE(ABORT, 'the daybook is only added to'); END;
CREATE TRIGGER search_entry_removed AFTER DELETE ON search_entry
    BEGIN INSERT INTO search_words (search_words, rowid, folded) VALUES ('delete', OLD.id, OLD.folded); END;
CREATE TRIGGER search_entry_changed AFTER UPDATE ON search_entry
    BEGIN
        INSERT INTO search_words (search_words, rowid, folded) VALUES ('delete', OLD.id, OLD.folded);
        INSERT INTO search_words (rowid, folded) VALUES (NEW.id, NEW.folded);
    END;
CREATE TRIGGER sheet_said_of BEFORE DELETE ON sheet WHEN EXISTS (SELECT 1 FROM note WHERE about = 'sheet' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM wording WHERE about = 'sheet' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM open_question WHERE about = 'sheet' AND about_id = OLD.id) BEGIN SELECT RAISE(ABORT, 'notes, wordings or questions are about this sheet'); END;
CREATE TRIGGER scan_said_of BEFORE DELETE ON scan WHEN EXISTS (SELECT 1 FROM note WHERE about = 'scan' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM wording WHERE about = 'scan' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM open_question WHERE about = 'scan' AND about_id = OLD.id) BEGIN SELECT RAISE(ABORT, 'notes, wordings or questions are about this scan'); END;
CREATE TRIGGER building_said_of BEFORE DELETE ON building WHEN EXISTS (SELECT 1 FROM note WHERE about = 'building' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM wording WHERE about = 'building' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM open_question WHERE about = 'building' AND about_id = OLD.id) BEGIN SELECT RAISE(ABORT, 'notes, wordings or questions are about this building'); END;
CREATE TRIGGER place_said_of BEFORE DELETE ON place WHEN EXISTS (SELECT 1 FROM note WHERE about = 'place' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM wording WHERE about = 'place' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM open_question WHERE about = 'place' AND about_id = OLD.id) BEGIN SELECT RAISE(ABORT, 'notes, wordings or questions are about this place'); END;
CREATE TRIGGER view_said_of BEFORE DELETE ON view WHEN EXISTS (SELECT 1 FROM note WHERE about = 'view' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM wording WHERE about = 'view' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM open_question WHERE about = 'view' AND about_id = OLD.id) BEGIN SELECT RAISE(ABORT, 'notes, wordings or questions are about this view'); END;
CREATE TRIGGER standpoint_said_of BEFORE DELETE ON standpoint WHEN EXISTS (SELECT 1 FROM note WHERE about = 'standpoint' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM wording WHERE about = 'standpoint' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM open_question WHERE about = 'standpoint' AND about_id = OLD.id) BEGIN SELECT RAISE(ABORT, 'notes, wordings or questions are about this standpoint'); END;
CREATE TRIGGER visit_said_of BEFORE DELETE ON visit WHEN EXISTS (SELECT 1 FROM note WHERE about = 'visit' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM wording WHERE about = 'visit' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM open_question WHERE about = 'visit' AND about_id = OLD.id) BEGIN SELECT RAISE(ABORT, 'notes, wordings or questions are about this visit'); END;
CREATE TRIGGER person_said_of BEFORE DELETE ON person WHEN EXISTS (SELECT 1 FROM note WHERE about = 'person' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM wording WHERE about = 'person' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM open_question WHERE about = 'person' AND about_id = OLD.id) BEGIN SELECT RAISE(ABORT, 'notes, wordings or questions are about this person'); END;
CREATE TRIGGER source_said_of BEFORE DELETE ON source WHEN EXISTS (SELECT 1 FROM note WHERE about = 'source' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM wording WHERE about = 'source' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM open_question WHERE about = 'source' AND about_id = OLD.id) BEGIN SELECT RAISE(ABORT, 'notes, wordings or questions are about this source'); END;
CREATE TRIGGER roll_said_of BEFORE DELETE ON roll WHEN EXISTS (SELECT 1 FROM note WHERE about = 'roll' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM wording WHERE about = 'roll' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM open_question WHERE about = 'roll' AND about_id = OLD.id) BEGIN SELECT RAISE(ABORT, 'notes, wordings or questions are about this roll'); END;
CREATE TRIGGER kit_said_of BEFORE DELETE ON kit WHEN EXISTS (SELECT 1 FROM note WHERE about = 'kit' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM wording WHERE about = 'kit' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM open_question WHERE about = 'kit' AND about_id = OLD.id) BEGIN SELECT RAISE(ABORT, 'notes, wordings or questions are about this kit'); END;
CREATE TRIGGER drive_said_of BEFORE DELETE ON drive WHEN EXISTS (SELECT 1 FROM note WHERE about = 'drive' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM wording WHERE about = 'drive' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM open_question WHERE about = 'drive' AND about_id = OLD.id) BEGIN SELECT RAISE(ABORT, 'notes, wordings or questions are about this drive'); END;
CREATE TRIGGER edit_version_said_of BEFORE DELETE ON edit_version WHEN EXISTS (SELECT 1 FROM note WHERE about = 'edit_version' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM wording WHERE about = 'edit_version' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM open_question WHERE about = 'edit_version' AND about_id = OLD.id) BEGIN SELECT RAISE(ABORT, 'notes, wordings or questions are about this edit_version'); END;
CREATE TRIGGER version_source_insert BEFORE INSERT ON version_source
    WHEN EXISTS (
        WITH RECURSIVE former(id) AS (
            VALUES (NEW.source_version_id)
            UNION
            SELECT version_source.source_version_id FROM version_source JOIN former ON version_source.version_id = former.id
        )
        SELECT 1 FROM former WHERE id = NEW.version_id
    )
    BEGIN SELECT RAISE(ABORT, 'a version cannot be made from itself'); END;
CREATE TRIGGER version_source_update BEFORE UPDATE OF version_id, source_version_id ON version_source
    WHEN EXISTS (
        WITH RECURSIVE former(id) AS (
            VALUES (NEW.source_version_id)
            UNION
            SELECT version_source.source_version_id FROM version_source JOIN former ON version_source.version_id = former.id
        )
        SELECT 1 FROM former WHERE id = NEW.version_id
    )
    BEGIN SELECT RAISE(ABORT, 'a version cannot be made from itself'); END;
CREATE TRIGGER edit_version_insert BEFORE INSERT ON edit_version
    WHEN EXISTS (
        WITH RECURSIVE former(id) AS (
            VALUES (NEW.replaces_id)
            UNION
            SELECT edit_version.replaces_id FROM edit_version JOIN former ON edit_version.id = former.id
        )
        SELECT 1 FROM former WHERE id = NEW.id
    )
    BEGIN SELECT RAISE(ABORT, 'a version cannot replace itself'); END;
CREATE TRIGGER edit_version_update BEFORE UPDATE OF id, replaces_id ON edit_version
    WHEN EXISTS (
        WITH RECURSIVE former(id) AS (
            VALUES (NEW.replaces_id)
            UNION
            SELECT edit_version.replaces_id FROM edit_version JOIN former ON edit_version.id = former.id
        )
        SELECT 1 FROM former WHERE id = NEW.id
    )
    BEGIN SELECT RAISE(ABORT, 'a version cannot replace itself'); END;
CREATE TRIGGER scan_reading_gone BEFORE DELETE ON scan
    BEGIN DELETE FROM scan_reading WHERE scan_id = OLD.id; END;
CREATE TRIGGER print_number_within BEFORE INSERT ON print_number
    WHEN CASE NEW.series
        WHEN 'numbered' THEN NEW.ordinal > (SELECT limit_count FROM run WHERE id = NEW.run_id)
        ELSE NEW.ordinal > ifnull(
            (SELECT allowed FROM proof_allowance WHERE run_id = NEW.run_id AND kind = NEW.series), 0)
    END
    BEGIN SELECT RAISE(ABORT, 'a print number beyond what the edition declares'); END;
CREATE TRIGGER print_number_ahead BEFORE INSERT ON print_number
    WHEN NEW.is_ahead <> (NEW.ordinal > 1 AND NOT EXISTS (
        SELECT 1 FROM print_number WHERE run_id = NEW.run_id AND series = NEW.series AND ordinal = NEW.ordinal - 1))
    BEGIN SELECT RAISE(ABORT, 'is_ahead says whether the place before a number was free'); END;
CREATE TRIGGER print_number_kept BEFORE DELETE ON print_number
    BEGIN SELECT RAISE(ABORT, 'a print number is given once and never taken away'); END;
CREATE TRIGGER print_number_unaltered BEFORE UPDATE ON print_number
    BEGIN SELECT RAISE(ABORT, 'a print number is given once and never altered'); END;
CREATE TRIGGER run_unaltered BEFORE UPDATE OF id, edition_id, limit_count, numbering ON run
    WHEN NEW.id <> OLD.id OR NEW.amendment_id IS OLD.amendment_id
    BEGIN SELECT RAISE(ABORT, 'the rule of a run changes only by an amendment'); END;
CREATE TRIGGER run_limit BEFORE UPDATE OF limit_count ON run
    WHEN NEW.limit_count < (
        SELECT max(ordinal) FROM print_number WHERE run_id = NEW.id AND series = 'numbered')
    BEGIN SELECT RAISE(ABORT, 'more numbers were given than this limit'); END;
CREATE TRIGGER proof_allowance_unaltered BEFORE UPDATE OF run_id, kind, allowed ON proof_allowance
    WHEN NEW.amendment_id IS OLD.amendment_id
    BEGIN SELECT RAISE(ABORT, 'the proofs declared change only by an amendment'); END;
CREATE TRIGGER proof_allowance_limit BEFORE UPDATE OF allowed ON proof_allowance
    WHEN NEW.allowed < (SELECT max(ordinal) FROM print_number WHERE run_id = NEW.run_id AND series = NEW.kind)
    BEGIN SELECT RAISE(ABORT, 'more proofs were numbered than this allowance'); END;
CREATE TRIGGER proof_allowance_kept BEFORE DELETE ON proof_allowance
    WHEN EXISTS (SELECT 1 FROM print_number WHERE run_id = OLD.run_id AND series = OLD.kind)
    BEGIN SELECT RAISE(ABORT, 'proofs were numbered under this allowance'); END;
CREATE TRIGGER edition_statement BEFORE UPDATE OF view_id, statement, sizes_count ON edition
    WHEN EXISTS (SELECT 1 FROM edition_state WHERE edition_id = OLD.id AND state = 'open')
    BEGIN SELECT RAISE(ABORT, 'the statement of an edition changes only by an amendment'); END;
CREATE TRIGGER print_number_once BEFORE INSERT ON print
    WHEN NEW.print_number_id IS NOT NULL AND NEW.replaces_id IS NULL
        AND EXISTS (SELECT 1 FROM print WHERE print_number_id = NEW.print_number_id AND life <> 'void')
    BEGIN SELECT RAISE(ABORT, 'another print was given this number'); END;
CREATE TRIGGER print_replaces BEFORE INSERT ON print
    WHEN NEW.replaces_id IS NOT NULL AND NOT EXISTS (
        SELECT 1 FROM print
        WHERE id = NEW.replaces_id AND life = 'ended' AND print_number_id IS NEW.print_number_id)
    BEGIN SELECT RAISE(ABORT, 'a print is replaced only once its end is written down, and under its own number'); END;
CREATE TRIGGER print_born BEFORE INSERT ON print WHEN NEW.life <> 'live'
    BEGIN SELECT RAISE(ABORT, 'what became of a print is written in the ledger'); END;
CREATE TRIGGER print_kept BEFORE DELETE ON print
    BEGIN SELECT RAISE(ABORT, 'a print is never taken out of the catalogue'); END;
CREATE TRIGGER print_number_stays BEFORE UPDATE OF id, print_number_id, replaces_id ON print
    WHEN NEW.id <> OLD.id OR NEW.replaces_id IS NOT OLD.replaces_id OR (
        NEW.print_number_id IS NOT OLD.print_number_id AND (
            OLD.print_number_id IS NOT NULL
            OR EXISTS (SELECT 1 FROM print WHERE print_number_id = NEW.print_number_id AND life <> 'void')))
    BEGIN SELECT RAISE(ABORT, 'a print keeps its number'); END;
CREATE TRIGGER print_number_back BEFORE UPDATE OF life ON print
    WHEN OLD.life = 'void' AND NEW.life <> 'void' AND OLD.print_number_id IS NOT NULL AND OLD.replaces_id IS NULL
        AND EXISTS (
            SELECT 1 FROM print WHERE print_number_id = OLD.print_number_id AND id <> OLD.id AND life <> 'void')
    BEGIN SELECT RAISE(ABORT, 'the number of this print was given to another since'); END;
CREATE TRIGGER print_life_true BEFORE UPDATE OF life ON print
    WHEN NEW.life IS NOT 
    CASE
        WHEN EXISTS (
            SELECT 1 FROM ledger_entry e WHERE e.print_id = NEW.id AND e.kind IN ('spoiled', 'destroyed', 'replaced')
            AND NOT EXISTS (SELECT 1 FROM ledger_entry c WHERE c.corrects_id = e.id))
        THEN 'ended'
        WHEN EXISTS (SELECT 1 FROM ledger_entry e WHERE e.print_id = NEW.id AND e.kind = 'pulled')
        AND NOT EXISTS (
            SELECT 1 FROM ledger_entry e WHERE e.print_id = NEW.id AND e.kind = 'pulled'
            AND NOT EXISTS (SELECT 1 FROM ledger_entry c WHERE c.corrects_id = e.id))
        THEN 'void'
        ELSE 'live'
    END

    BEGIN SELECT RAISE(ABORT, 'what became of a print is written in the ledger'); END;
CREATE TRIGGER ledger_entry_kept BEFORE DELETE ON ledger_entry
    BEGIN SELECT RAISE(ABORT, 'the ledger is only added to: write a correction'); END;
CREATE TRIGGER ledger_entry_unaltered BEFORE UPDATE ON ledger_entry
    BEGIN SELECT RAISE(ABORT, 'the ledger is only added to: write a correction'); END;
CREATE TRIGGER ledger_entry_corrects BEFORE INSERT ON ledger_entry
    WHEN NEW.corrects_id IS NOT NULL AND NOT EXISTS (
        SELECT 1 FROM ledger_entry WHERE id = NEW.corrects_id AND kind <> 'corrected'
        AND print_id IS NEW.print_id AND print_number_id IS NEW.print_number_id)
    BEGIN SELECT RAISE(ABORT, 'a correction is of an earlier entry of the same print'); END;
CREATE TRIGGER ledger_entry_left_the_house BEFORE INSERT ON ledger_entry
    WHEN NEW.corrects_id IS NOT NULL AND (SELECT kind FROM ledger_entry WHERE id = NEW.corrects_id) = 'pulled'
        AND EXISTS (SELECT 1 FROM ledger_entry WHERE print_id = NEW.print_id AND kind IN ('consigned', 'lent', 'shown', 'sold', 'given', 'lost', 'stolen'))
    BEGIN SELECT RAISE(ABORT, 'a number that left the house is never free again'); END;
CREATE TRIGGER ledger_entry_needs_print BEFORE INSERT ON ledger_entry
    WHEN NEW.print_number_id IS NOT NULL AND NEW.kind NOT IN ('promised', 'reserved', 'released', 'corrected')
    BEGIN SELECT RAISE(ABORT, 'there is no print of this number yet'); END;
CREATE TRIGGER print_life AFTER INSERT ON ledger_entry
    WHEN NEW.print_id IS NOT NULL AND (NEW.kind IN ('spoiled', 'destroyed', 'replaced', 'corrected')
        OR (NEW.kind = 'pulled' AND (SELECT life FROM print WHERE id = NEW.print_id) <> 'live'))
    BEGIN
        UPDATE print SET life = 
    CASE
        WHEN EXISTS (
            SELECT 1 FROM ledger_entry e WHERE e.print_id = NEW.print_id AND e.kind IN ('spoiled', 'destroyed', 'replaced')
            AND NOT EXISTS (SELECT 1 FROM ledger_entry c WHERE c.corrects_id = e.id))
        THEN 'ended'
        WHEN EXISTS (SELECT 1 FROM ledger_entry e WHERE e.print_id = NEW.print_id AND e.kind = 'pulled')
        AND NOT EXISTS (
            SELECT 1 FROM ledger_entry e WHERE e.print_id = NEW.print_id AND e.kind = 'pulled'
            AND NOT EXISTS (SELECT 1 FROM ledger_entry c WHERE c.corrects_id = e.id))
        THEN 'void'
        ELSE 'live'
    END

        WHERE id = NEW.print_id AND life IS NOT 
    CASE
        WHEN EXISTS (
            SELECT 1 FROM ledger_entry e WHERE e.print_id = NEW.print_id AND e.kind IN ('spoiled', 'destroyed', 'replaced')
            AND NOT EXISTS (SELECT 1 FROM ledger_entry c WHERE c.corrects_id = e.id))
        THEN 'ended'
        WHEN EXISTS (SELECT 1 FROM ledger_entry e WHERE e.print_id = NEW.print_id AND e.kind = 'pulled')
        AND NOT EXISTS (
            SELECT 1 FROM ledger_entry e WHERE e.print_id = NEW.print_id AND e.kind = 'pulled'
            AND NOT EXISTS (SELECT 1 FROM ledger_entry c WHERE c.corrects_id = e.id))
        THEN 'void'
        ELSE 'live'
    END
;
    END;
CREATE TRIGGER document_kept BEFORE DELETE ON document
    BEGIN SELECT RAISE(ABORT, 'an issued document is voided, not deleted'); END;
CREATE TRIGGER document_unaltered BEFORE UPDATE ON document
    WHEN (NEW.id, NEW.kind, NEW.person_id, NEW.edition_id, NEW.law, NEW.file_name, NEW.sha256, NEW.facts, NEW.issued_at)
        IS NOT
        (OLD.id, OLD.kind, OLD.person_id, OLD.edition_id, OLD.law, OLD.file_name, OLD.sha256, OLD.facts, OLD.issued_at)
    BEGIN SELECT RAISE(ABORT, 'an issued document is voided, not altered'); END;
CREATE TRIGGER document_line_kept BEFORE DELETE ON document_line
    BEGIN SELECT RAISE(ABORT, 'an issued document is voided, not altered'); END;
CREATE TRIGGER document_line_unaltered BEFORE UPDATE ON document_line
    BEGIN SELECT RAISE(ABORT, 'an issued document is voided, not altered'); END;
CREATE TRIGGER edition_not_over BEFORE INSERT ON edition
    WHEN EXISTS (SELECT 1 FROM edition WHERE id = NEW.id)
    BEGIN SELECT RAISE(ABORT, 'edition: there is one already, and it is not written over'); END;
CREATE TRIGGER run_not_over BEFORE INSERT ON run
    WHEN EXISTS (SELECT 1 FROM run WHERE id = NEW.id)
    BEGIN SELECT RAISE(ABORT, 'run: there is one already, and it is not written over'); END;
CREATE TRIGGER proof_allowance_not_over BEFORE INSERT ON proof_allowance
    WHEN EXISTS (SELECT 1 FROM proof_allowance WHERE id = NEW.id OR (run_id = NEW.run_id AND kind = NEW.kind))
    BEGIN SELECT RAISE(ABORT, 'proof allowance: there is one already, and it is not written over'); END;
CREATE TRIGGER print_number_not_over BEFORE INSERT ON print_number
    WHEN EXISTS (SELECT 1 FROM print_number WHERE id = NEW.id OR (run_id = NEW.run_id AND series = NEW.series AND ordinal = NEW.ordinal))
    BEGIN SELECT RAISE(ABORT, 'print number: there is one already, and it is not written over'); END;
CREATE TRIGGER print_not_over BEFORE INSERT ON print
    WHEN EXISTS (SELECT 1 FROM print WHERE id = NEW.id OR (print_number_id = NEW.print_number_id AND life = 'live') OR (replaces_id = NEW.replaces_id AND life <> 'void'))
    BEGIN SELECT RAISE(ABORT, 'print: there is one already, and it is not written over'); END;
CREATE TRIGGER ledger_entry_not_over BEFORE INSERT ON ledger_entry
    WHEN EXISTS (SELECT 1 FROM ledger_entry WHERE id = NEW.id OR corrects_id = NEW.corrects_id)
    BEGIN SELECT RAISE(ABORT, 'ledger entry: there is one already, and it is not written over'); END;
CREATE TRIGGER document_not_over BEFORE INSERT ON document
    WHEN EXISTS (SELECT 1 FROM document WHERE id = NEW.id OR file_name = NEW.file_name)
    BEGIN SELECT RAISE(ABORT, 'document: there is one already, and it is not written over'); END;
CREATE TRIGGER document_line_not_over BEFORE INSERT ON document_line
    WHEN EXISTS (SELECT 1 FROM document_line WHERE id = NEW.id OR (document_id = NEW.document_id AND print_id = NEW.print_id))
    BEGIN SELECT RAISE(ABORT, 'document line: there is one already, and it is not written over'); END;
CREATE TRIGGER note_about_insert BEFORE INSERT ON note WHEN NEW.about IS NOT NULL AND CASE NEW.about WHEN 'sheet' THEN NOT EXISTS (SELECT 1 FROM sheet WHERE id = NEW.about_id) WHEN 'scan' THEN NOT EXISTS (SELECT 1 FROM scan WHERE id = NEW.about_id) WHEN 'building' THEN NOT EXISTS (SELECT 1 FROM building WHERE id = NEW.about_id) WHEN 'place' THEN NOT EXISTS (SELECT 1 FROM place WHERE id = NEW.about_id) WHEN 'view' THEN NOT EXISTS (SELECT 1 FROM view WHERE id = NEW.about_id) WHEN 'standpoint' THEN NOT EXISTS (SELECT 1 FROM standpoint WHERE id = NEW.about_id) WHEN 'visit' THEN NOT EXISTS (SELECT 1 FROM visit WHERE id = NEW.about_id) WHEN 'person' THEN NOT EXISTS (SELECT 1 FROM person WHERE id = NEW.about_id) WHEN 'source' THEN NOT EXISTS (SELECT 1 FROM source WHERE id = NEW.about_id) WHEN 'roll' THEN NOT EXISTS (SELECT 1 FROM roll WHERE id = NEW.about_id) WHEN 'kit' THEN NOT EXISTS (SELECT 1 FROM kit WHERE id = NEW.about_id) WHEN 'drive' THEN NOT EXISTS (SELECT 1 FROM drive WHERE id = NEW.about_id) WHEN 'edit_version' THEN NOT EXISTS (SELECT 1 FROM edit_version WHERE id = NEW.about_id) WHEN 'edition' THEN NOT EXISTS (SELECT 1 FROM edition WHERE id = NEW.about_id) WHEN 'print' THEN NOT EXISTS (SELECT 1 FROM print WHERE id = NEW.about_id) WHEN 'document' THEN NOT EXISTS (SELECT 1 FROM document WHERE id = NEW.about_id) ELSE 1 END BEGIN SELECT RAISE(ABORT, 'note is about a record that is not there'); END;
CREATE TRIGGER note_about_update BEFORE UPDATE OF about, about_id ON note WHEN NEW.about IS NOT NULL AND CASE NEW.about WHEN 'sheet' THEN NOT EXISTS (SELECT 1 FROM sheet WHERE id = NEW.about_id) WHEN 'scan' THEN NOT EXISTS (SELECT 1 FROM scan WHERE id = NEW.about_id) WHEN 'building' THEN NOT EXISTS (SELECT 1 FROM building WHERE id = NEW.about_id) WHEN 'place' THEN NOT EXISTS (SELECT 1 FROM place WHERE id = NEW.about_id) WHEN 'view' THEN NOT EXISTS (SELECT 1 FROM view WHERE id = NEW.about_id) WHEN 'standpoint' THEN NOT EXISTS (SELECT 1 FROM standpoint WHERE id = NEW.about_id) WHEN 'visit' THEN NOT EXISTS (SELECT 1 FROM visit WHERE id = NEW.about_id) WHEN 'person' THEN NOT EXISTS (SELECT 1 FROM person WHERE id = NEW.about_id) WHEN 'source' THEN NOT EXISTS (SELECT 1 FROM source WHERE id = NEW.about_id) WHEN 'roll' THEN NOT EXISTS (SELECT 1 FROM roll WHERE id = NEW.about_id) WHEN 'kit' THEN NOT EXISTS (SELECT 1 FROM kit WHERE id = NEW.about_id) WHEN 'drive' THEN NOT EXISTS (SELECT 1 FROM drive WHERE id = NEW.about_id) WHEN 'edit_version' THEN NOT EXISTS (SELECT 1 FROM edit_version WHERE id = NEW.about_id) WHEN 'edition' THEN NOT EXISTS (SELECT 1 FROM edition WHERE id = NEW.about_id) WHEN 'print' THEN NOT EXISTS (SELECT 1 FROM print WHERE id = NEW.about_id) WHEN 'document' THEN NOT EXISTS (SELECT 1 FROM document WHERE id = NEW.about_id) ELSE 1 END BEGIN SELECT RAISE(ABORT, 'note is about a record that is not there'); END;
CREATE TRIGGER wording_about_insert BEFORE INSERT ON wording WHEN NEW.about IS NOT NULL AND CASE NEW.about WHEN 'sheet' THEN NOT EXISTS (SELECT 1 FROM sheet WHERE id = NEW.about_id) WHEN 'scan' THEN NOT EXISTS (SELECT 1 FROM scan WHERE id = NEW.about_id) WHEN 'building' THEN NOT EXISTS (SELECT 1 FROM building WHERE id = NEW.about_id) WHEN 'place' THEN NOT EXISTS (SELECT 1 FROM place WHERE id = NEW.about_id) WHEN 'view' THEN NOT EXISTS (SELECT 1 FROM view WHERE id = NEW.about_id) WHEN 'standpoint' THEN NOT EXISTS (SELECT 1 FROM standpoint WHERE id = NEW.about_id) WHEN 'visit' THEN NOT EXISTS (SELECT 1 FROM visit WHERE id = NEW.about_id) WHEN 'person' THEN NOT EXISTS (SELECT 1 FROM person WHERE id = NEW.about_id) WHEN 'source' THEN NOT EXISTS (SELECT 1 FROM source WHERE id = NEW.about_id) WHEN 'roll' THEN NOT EXISTS (SELECT 1 FROM roll WHERE id = NEW.about_id) WHEN 'kit' THEN NOT EXISTS (SELECT 1 FROM kit WHERE id = NEW.about_id) WHEN 'drive' THEN NOT EXISTS (SELECT 1 FROM drive WHERE id = NEW.about_id) WHEN 'edit_version' THEN NOT EXISTS (SELECT 1 FROM edit_version WHERE id = NEW.about_id) WHEN 'edition' THEN NOT EXISTS (SELECT 1 FROM edition WHERE id = NEW.about_id) WHEN 'print' THEN NOT EXISTS (SELECT 1 FROM print WHERE id = NEW.about_id) WHEN 'document' THEN NOT EXISTS (SELECT 1 FROM document WHERE id = NEW.about_id) ELSE 1 END BEGIN SELECT RAISE(ABORT, 'wording is about a record that is not there'); END;
CREATE TRIGGER wording_about_update BEFORE UPDATE OF about, about_id ON wording WHEN NEW.about IS NOT NULL AND CASE NEW.about WHEN 'sheet' THEN NOT EXISTS (SELECT 1 FROM sheet WHERE id = NEW.about_id) WHEN 'scan' THEN NOT EXISTS (SELECT 1 FROM scan WHERE id = NEW.about_id) WHEN 'building' THEN NOT EXISTS (SELECT 1 FROM building WHERE id = NEW.about_id) WHEN 'place' THEN NOT EXISTS (SELECT 1 FROM place WHERE id = NEW.about_id) WHEN 'view' THEN NOT EXISTS (SELECT 1 FROM view WHERE id = NEW.about_id) WHEN 'standpoint' THEN NOT EXISTS (SELECT 1 FROM standpoint WHERE id = NEW.about_id) WHEN 'visit' THEN NOT EXISTS (SELECT 1 FROM visit WHERE id = NEW.about_id) WHEN 'person' THEN NOT EXISTS (SELECT 1 FROM person WHERE id = NEW.about_id) WHEN 'source' THEN NOT EXISTS (SELECT 1 FROM source WHERE id = NEW.about_id) WHEN 'roll' THEN NOT EXISTS (SELECT 1 FROM roll WHERE id = NEW.about_id) WHEN 'kit' THEN NOT EXISTS (SELECT 1 FROM kit WHERE id = NEW.about_id) WHEN 'drive' THEN NOT EXISTS (SELECT 1 FROM drive WHERE id = NEW.about_id) WHEN 'edit_version' THEN NOT EXISTS (SELECT 1 FROM edit_version WHERE id = NEW.about_id) WHEN 'edition' THEN NOT EXISTS (SELECT 1 FROM edition WHERE id = NEW.about_id) WHEN 'print' THEN NOT EXISTS (SELECT 1 FROM print WHERE id = NEW.about_id) WHEN 'document' THEN NOT EXISTS (SELECT 1 FROM document WHERE id = NEW.about_id) ELSE 1 END BEGIN SELECT RAISE(ABORT, 'wording is about a record that is not there'); END;
CREATE TRIGGER open_question_about_insert BEFORE INSERT ON open_question WHEN NEW.about IS NOT NULL AND CASE NEW.about WHEN 'sheet' THEN NOT EXISTS (SELECT 1 FROM sheet WHERE id = NEW.about_id) WHEN 'scan' THEN NOT EXISTS (SELECT 1 FROM scan WHERE id = NEW.about_id) WHEN 'building' THEN NOT EXISTS (SELECT 1 FROM building WHERE id = NEW.about_id) WHEN 'place' THEN NOT EXISTS (SELECT 1 FROM place WHERE id = NEW.about_id) WHEN 'view' THEN NOT EXISTS (SELECT 1 FROM view WHERE id = NEW.about_id) WHEN 'standpoint' THEN NOT EXISTS (SELECT 1 FROM standpoint WHERE id = NEW.about_id) WHEN 'visit' THEN NOT EXISTS (SELECT 1 FROM visit WHERE id = NEW.about_id) WHEN 'person' THEN NOT EXISTS (SELECT 1 FROM person WHERE id = NEW.about_id) WHEN 'source' THEN NOT EXISTS (SELECT 1 FROM source WHERE id = NEW.about_id) WHEN 'roll' THEN NOT EXISTS (SELECT 1 FROM roll WHERE id = NEW.about_id) WHEN 'kit' THEN NOT EXISTS (SELECT 1 FROM kit WHERE id = NEW.about_id) WHEN 'drive' THEN NOT EXISTS (SELECT 1 FROM drive WHERE id = NEW.about_id) WHEN 'edit_version' THEN NOT EXISTS (SELECT 1 FROM edit_version WHERE id = NEW.about_id) WHEN 'edition' THEN NOT EXISTS (SELECT 1 FROM edition WHERE id = NEW.about_id) WHEN 'print' THEN NOT EXISTS (SELECT 1 FROM print WHERE id = NEW.about_id) WHEN 'document' THEN NOT EXISTS (SELECT 1 FROM document WHERE id = NEW.about_id) ELSE 1 END BEGIN SELECT RAISE(ABORT, 'open_question is about a record that is not there'); END;
CREATE TRIGGER open_question_about_update BEFORE UPDATE OF about, about_id ON open_question WHEN NEW.about IS NOT NULL AND CASE NEW.about WHEN 'sheet' THEN NOT EXISTS (SELECT 1 FROM sheet WHERE id = NEW.about_id) WHEN 'scan' THEN NOT EXISTS (SELECT 1 FROM scan WHERE id = NEW.about_id) WHEN 'building' THEN NOT EXISTS (SELECT 1 FROM building WHERE id = NEW.about_id) WHEN 'place' THEN NOT EXISTS (SELECT 1 FROM place WHERE id = NEW.about_id) WHEN 'view' THEN NOT EXISTS (SELECT 1 FROM view WHERE id = NEW.about_id) WHEN 'standpoint' THEN NOT EXISTS (SELECT 1 FROM standpoint WHERE id = NEW.about_id) WHEN 'visit' THEN NOT EXISTS (SELECT 1 FROM visit WHERE id = NEW.about_id) WHEN 'person' THEN NOT EXISTS (SELECT 1 FROM person WHERE id = NEW.about_id) WHEN 'source' THEN NOT EXISTS (SELECT 1 FROM source WHERE id = NEW.about_id) WHEN 'roll' THEN NOT EXISTS (SELECT 1 FROM roll WHERE id = NEW.about_id) WHEN 'kit' THEN NOT EXISTS (SELECT 1 FROM kit WHERE id = NEW.about_id) WHEN 'drive' THEN NOT EXISTS (SELECT 1 FROM drive WHERE id = NEW.about_id) WHEN 'edit_version' THEN NOT EXISTS (SELECT 1 FROM edit_version WHERE id = NEW.about_id) WHEN 'edition' THEN NOT EXISTS (SELECT 1 FROM edition WHERE id = NEW.about_id) WHEN 'print' THEN NOT EXISTS (SELECT 1 FROM print WHERE id = NEW.about_id) WHEN 'document' THEN NOT EXISTS (SELECT 1 FROM document WHERE id = NEW.about_id) ELSE 1 END BEGIN SELECT RAISE(ABORT, 'open_question is about a record that is not there'); END;
CREATE TRIGGER edition_said_of BEFORE DELETE ON edition WHEN EXISTS (SELECT 1 FROM note WHERE about = 'edition' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM wording WHERE about = 'edition' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM open_question WHERE about = 'edition' AND about_id = OLD.id) BEGIN SELECT RAISE(ABORT, 'notes, wordings or questions are about this edition'); END;
CREATE TRIGGER print_said_of BEFORE DELETE ON print WHEN EXISTS (SELECT 1 FROM note WHERE about = 'print' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM wording WHERE about = 'print' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM open_question WHERE about = 'print' AND about_id = OLD.id) BEGIN SELECT RAISE(ABORT, 'notes, wordings or questions are about this print'); END;
CREATE TRIGGER document_said_of BEFORE DELETE ON document WHEN EXISTS (SELECT 1 FROM note WHERE about = 'document' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM wording WHERE about = 'document' AND about_id = OLD.id) OR EXISTS (SELECT 1 FROM open_question WHERE about = 'document' AND about_id = OLD.id) BEGIN SELECT RAISE(ABORT, 'notes, wordings or questions are about this document'); END;
COMMIT;
