-- The program and everything it holds. Lengths in mm, forces in N, stresses in MPa.
create table program (
    id              uuid primary key,
    code            text not null unique check (code ~ '^[a-z0-9][a-z0-9-]{0,39}$'),
    name            text not null check (length(name) between 1 and 200),
    owner           text not null default '' check (length(owner) <= 200),
    carries         text not null default '' check (length(carries) <= 200),
    contract        text not null default '' check (length(contract) <= 100),
    built_year      int check (built_year between 1800 and 2200),
    units           text not null check (units in ('us', 'si')),
    timezone        text not null default 'UTC',
    today           date,                    -- set only for a demonstration program
    completion_due  date,
    field_start     date,
    mockup_accepted_at timestamptz,
    mockup_accepted_by text not null default '',
    mockup_note     text not null default '',
    is_demo         boolean not null default false,
    version         bigint not null default 1,
    created_at      timestamptz not null
);
alter table membership add constraint membership_program_fk foreign key (program_id) references program (id);

create table basis_setting (
    program_id  uuid not null references program (id),
    key         text not null,
    value       double precision not null,
    typed       text not null default '',
    source      text not null check (length(source) between 1 and 500),
    set_by      uuid not null references app_user (id),
    set_at      timestamptz not null,
    primary key (program_id, key)
);

create table support (
    id          uuid primary key,
    program_id  uuid not null references program (id),
    ord         int not null,
    code        text not null check (length(code) between 1 and 20),
    name        text not null check (length(name) between 1 and 80),
    station_mm  double precision not null,
    unique (program_id, code),
    unique (program_id, ord)
);

create table span (
    id               uuid primary key,
    program_id       uuid not null references program (id),
    number           int not null check (number between 1 and 999),
    length_mm        double precision not null check (length_mm > 0),
    girders          int not null check (girders between 1 and 100),
    spacing_mm       double precision not null check (spacing_mm > 0),
    from_support_id  uuid not null references support (id),
    to_support_id    uuid not null references support (id),
    continuous_next  boolean not null default false,
    note             text not null default '',
    unique (program_id, number)
);

create table section (
    id                  uuid primary key,
    program_id          uuid not null references program (id),
    name                text not null check (length(name) between 1 and 80),
    kind                text not null check (kind in ('rolled', 'built_up')),
    depth_mm            double precision not null check (depth_mm > 0),
    flange_width_mm     double precision not null check (flange_width_mm > 0),
    flange_thickness_mm double precision not null check (flange_thickness_mm > 0),
    top_flange_width_mm double precision not null check (top_flange_width_mm > 0),
    top_flange_thickness_mm double precision not null check (top_flange_thickness_mm > 0),
    web_thickness_mm    double precision not null check (web_thickness_mm > 0),
    fillet_k_mm         double precision not null check (fillet_k_mm >= flange_thickness_mm),
    source              text not null default '',
    typed               jsonb not null default '{}',
    unique (program_id, name)
);

-- A sequence edit adds rows and retires rows; none is ever removed.
create table step (
    id            uuid primary key,
    program_id    uuid not null references program (id),
    ord           int not null,
    code          text not null check (length(code) between 1 and 40),
    name          text not null check (length(name) between 1 and 120),
    hold          boolean not null default false,
    performers    text[] not null,
    releasers     text[] not null default '{}',
    applies_to_all boolean not null default true,
    window_kind   text not null default '',
    requires      jsonb not null default '[]',
    retired       boolean not null default false,
    added_at      timestamptz,          -- null: from the start
    hold_since    timestamptz,          -- null: from the start
    unique (program_id, code)
);

create table girder_end (
    id                  uuid primary key,
    program_id          uuid not null references program (id),
    span_id             uuid not null references span (id),
    support_id          uuid not null references support (id),
    name                text not null,
    span_no             int not null,
    side                text not null check (side in ('N', 'F')),
    girder_no           int not null check (girder_no between 1 and 100),
    face                text not null check (face in ('back', 'ahead')),
    alias               text not null default '' check (length(alias) <= 80),
    skew_deg            double precision not null check (skew_deg > -75 and skew_deg < 75),
    section_id          uuid not null references section (id),
    bearing_kind        text not null check (bearing_kind in ('rocker', 'bolster', 'sliding_plate', 'elastomeric', 'other')),
    bearing_fixed       boolean not null,
    bearing_start_mm    double precision not null check (bearing_start_mm >= 0),
    bearing_length_mm   double precision not null check (bearing_length_mm > 0),
    bearing_width_mm    double precision not null check (bearing_width_mm > 0),
    stiffener_pairs     int not null default 0 check (stiffener_pairs between 0 and 10),
    stiffener_width_mm  double precision not null default 0 check (stiffener_width_mm >= 0),
    stiffener_thickness_mm double precision not null default 0 check (stiffener_thickness_mm >= 0),
    stiffener_clip_mm   double precision not null default 0 check (stiffener_clip_mm >= 0),
    stiffener_x_mm      double precision not null default 0 check (stiffener_x_mm >= 0),
    stiffener_fy_mpa    double precision not null default 0 check (stiffener_fy_mpa >= 0),
    fy_mpa              double precision not null check (fy_mpa > 0),
    fu_mpa              double precision not null check (fu_mpa > 0),
    fy_origin           text not null default '',
    held_against_roll   boolean not null default true,
    diaphragm_x_mm      double precision not null default 0,
    end_panel_mm        double precision not null default 0 check (end_panel_mm >= 0),
    reaction_n          double precision not null check (reaction_n > 0),
    reaction_origin     text not null default '',
    access              text not null default 'open' check (length(access) between 1 and 60),
    typed               jsonb not null default '{}',
    chosen_steps        text[] not null default '{}',   -- codes of steps that apply to chosen ends only
    version             bigint not null default 1,
    created_at          timestamptz not null,
    updated_at          timestamptz not null,
    unique (program_id, name)
);

-- What lists sort and filter by: derived from the record in the edit's own transaction.
create table end_state (
    end_id            uuid primary key references girder_end (id),
    program_id        uuid not null references program (id),
    sort_key          text not null,             -- span, side, girder, padded
    name              text not null,
    support_code      text not null,
    section_name      text not null,
    access            text not null,
    step_ord          int not null,              -- of the step that is next; 9999 when closed
    step_code         text not null,
    step_name         text not null,
    closed            boolean not null,
    track             text not null default '',
    reason            text not null default '',
    reason_text       text not null default '',
    actor             text not null default '',
    since             timestamptz,
    loss_max          double precision,          -- 0..1, null without a survey
    demand_n          double precision not null,
    capacity_new_n    double precision not null,
    capacity_n        double precision,          -- corroded, by the latest survey
    capacity_verdict  text not null default '',
    governing         text not null default '',
    repaired_n        double precision,          -- with the latest design
    design_revision   int,
    design_state      text not null default '',  -- '', draft, submitted, approved, ...
    out_of_date       boolean not null default false,
    open_ncr          int not null default 0,
    method_version    text not null,
    input_digest      text not null
);
create index end_state_list on end_state (program_id, sort_key);
create index end_state_step on end_state (program_id, step_ord, since, sort_key);
create index end_state_name on end_state (program_id, upper(name) text_pattern_ops);
create index end_state_support on end_state (program_id, upper(support_code) text_pattern_ops);
create index end_state_section on end_state (program_id, upper(section_name) text_pattern_ops);
create index end_state_open on end_state (program_id, since) where not closed;
create index end_state_reason on end_state (program_id, track, reason, actor, since) where not closed;
create index end_state_ratio on end_state (program_id, (demand_n / nullif(capacity_n, 0)) desc nulls last);
create index end_state_loss on end_state (program_id, loss_max desc nulls last);

create table survey (
    id              uuid primary key,
    end_id          uuid not null references girder_end (id),
    number          int not null check (number >= 1),
    kind            text not null check (kind in ('as_found', 'cleaned')),
    method          text not null default '',
    gauge           text not null default '',
    flange_thickness_mm     double precision check (flange_thickness_mm >= 0),
    stiffener_thickness_mm  double precision check (stiffener_thickness_mm >= 0),
    stiffener_width_mm      double precision check (stiffener_width_mm >= 0),
    web_deviation_mm        double precision not null default 0,
    web_detached_mm         double precision not null default 0 check (web_detached_mm >= 0),
    thicker_reason  text not null default '',   -- why a reading above nominal stands
    note            text not null default '',
    typed           jsonb not null default '{}',
    taken_by        text not null default '',
    captured_at     timestamptz not null,
    arrived_at      timestamptz not null,
    recorded_by     uuid not null references app_user (id),
    unique (end_id, number)
);

-- Readings are corrected by a new row that supersedes the old one, never by overwriting.
create table reading (
    id          uuid primary key,
    end_id      uuid not null references girder_end (id),
    survey_id   uuid not null references survey (id),
    face        text not null check (face in ('L', 'R', 'T')),
    x_mm        double precision not null,
    z_mm        double precision not null,
    t_mm        double precision not null check (t_mm >= 0),
    typed       text not null default '',
    no_access   boolean not null default false,
    superseded_by uuid,
    captured_at timestamptz not null
);
create index reading_end on reading (end_id);
create unique index reading_place on reading (survey_id, face, x_mm, z_mm) where superseded_by is null;

create table hole (
    id          uuid primary key,
    end_id      uuid not null references girder_end (id),
    survey_id   uuid not null references survey (id),
    x_mm        double precision not null,
    z_mm        double precision not null,
    width_mm    double precision not null check (width_mm > 0),
    height_mm   double precision not null check (height_mm > 0),
    rim_mm      double precision not null default 0 check (rim_mm >= 0),
    withdrawn   boolean not null default false
);
create index hole_end on hole (end_id);

create table design (
    id              uuid primary key,
    end_id          uuid not null references girder_end (id),
    revision        int not null check (revision >= 1),
    state           text not null check (state in ('draft', 'submitted', 'approved', 'approved_as_noted', 'returned', 'superseded')),
    survey_id       uuid references survey (id),
    stud_diameter_mm double precision not null check (stud_diameter_mm > 0),
    stud_height_mm  double precision not null check (stud_height_mm > 0),
    stud_fu_mpa     double precision not null check (stud_fu_mpa > 0),
    fc_mpa          double precision not null check (fc_mpa > 0),
    panel_x_mm      double precision not null,
    panel_z_mm      double precision not null,
    panel_width_mm  double precision not null,
    panel_height_mm double precision not null,
    panel_left_mm   double precision not null,
    panel_right_mm  double precision not null,
    panel_gap_mm    double precision not null default 0,
    note            text not null default '',
    typed           jsonb not null default '{}',
    designed_by     uuid not null references app_user (id),
    created_at      timestamptz not null,
    submitted_at    timestamptz,
    input_digest    text not null default '',   -- of what the design stood on when it was submitted
    unique (end_id, revision)
);

create table stud (
    id          uuid primary key,
    end_id      uuid not null references girder_end (id),
    design_id   uuid not null references design (id),
    mark        text not null,
    row_no      int not null,
    col_no      int not null,
    x_mm        double precision not null,
    z_mm        double precision not null,
    face        text not null check (face in ('L', 'R')),
    removed     boolean not null default false   -- taken out of a draft, kept on record
);
create index stud_end on stud (end_id);
create unique index stud_mark on stud (design_id, mark) where not removed;

create table review (
    id           uuid primary key,
    end_id       uuid not null references girder_end (id),
    design_id    uuid not null references design (id),
    decision     text not null check (decision in ('approved', 'approved_as_noted', 'returned', 'confirmed')),
    reasons      text not null default '',
    meaning      text not null,
    reviewer     uuid not null references app_user (id),
    reviewer_name text not null,
    reviewer_role text not null,
    at           timestamptz not null,
    input_digest text not null                   -- of exactly what was approved
);
create index review_end on review (end_id);

create table step_record (
    id          uuid primary key,
    end_id      uuid not null references girder_end (id),
    step_id     uuid not null references step (id),
    kind        text not null check (kind in ('completed', 'released', 'returned', 'reopened')),
    by_user     uuid not null references app_user (id),
    by_name     text not null,
    by_role     text not null,
    note        text not null default '',
    ticks       text[] not null default '{}',
    captured_at timestamptz not null,
    arrived_at  timestamptz not null
);
create index step_record_end on step_record (end_id);

create table cleaning (
    id          uuid primary key,
    end_id      uuid not null references girder_end (id),
    zone        text not null check (zone in ('stud_positions', 'encased_area', 'outside_panel')),
    grade       text not null,
    method      text not null,
    started_at  timestamptz not null,
    ended_at    timestamptz not null,
    solvent_first boolean not null default false,
    rust        text not null check (rust in ('none', 'light', 'heavy')),
    profile_mm  double precision not null default 0 check (profile_mm >= 0),
    steel_temp_c double precision,
    air_temp_c  double precision,
    dew_point_c double precision,
    humidity_pct double precision check (humidity_pct between 0 and 100),
    note        text not null default '',
    by_user     uuid not null references app_user (id),
    captured_at timestamptz not null,
    arrived_at  timestamptz not null,
    check (ended_at >= started_at)
);
create index cleaning_end on cleaning (end_id);

create table collar (
    id          uuid primary key,
    end_id      uuid not null references girder_end (id),
    design_id   uuid not null references design (id),
    mark        text not null,
    outcome     text not null check (outcome in ('full', 'gap', 'repaired_fillet', 'bent_pass', 'bent_fail', 'rejected', 'removed', 'replaced')),
    gap_clock   int check (gap_clock between 1 and 12),
    gap_length_mm double precision check (gap_length_mm >= 0),
    fissure     boolean not null default false,
    height_mm   double precision check (height_mm > 0),
    bend_deg    double precision check (bend_deg between 0 and 90),
    bend_clock  int check (bend_clock between 1 and 12),           -- hour toward which it was bent
    fillet_size_mm   double precision check (fillet_size_mm > 0),   -- of a repaired gap
    fillet_length_mm double precision check (fillet_length_mm > 0),
    repair      text not null default '',
    welder      text not null default '',
    ferrule_lot text not null default '',
    note        text not null default '',
    by_user     uuid not null references app_user (id),
    captured_at timestamptz not null,
    arrived_at  timestamptz not null
);
create index collar_end on collar (end_id);

-- What a person found and signs for, where no measured record decides yet:
-- curing complete, hardened inspection, gauges read at zero, load path verdict.
create table inspection (
    id          uuid primary key,
    end_id      uuid not null references girder_end (id),
    subject     text not null check (subject in ('curing', 'hardened', 'gauges', 'load_path')),
    outcome     text not null check (outcome in ('accepted', 'not_accepted', 'engaged', 'not_engaged', 'undecided')),
    note        text not null default '',
    by_user     uuid not null references app_user (id),
    by_name     text not null,
    by_role     text not null,
    captured_at timestamptz not null,
    arrived_at  timestamptz not null
);
create index inspection_end on inspection (end_id);

create table nonconformance (
    id              uuid primary key,
    program_id      uuid not null references program (id),
    end_id          uuid not null references girder_end (id),
    number          int not null,
    requirement     text not null,
    found           text not null,
    containment     text not null default '',
    proposed        text not null default '' check (proposed in ('', 'use_as_is', 'repair', 'rework', 'reject')),
    disposition     text not null default '' check (disposition in ('', 'use_as_is', 'repair', 'rework', 'reject')),
    instructions    text not null default '',      -- what is to be done, or why it may stay
    decided_by      text not null default '',
    decided_at      timestamptz,
    reinspection    text not null default '',
    cause           text not null default '',
    stops           text[] not null default '{}',  -- step codes it stops; empty: the next hold
    critical        boolean not null default false,
    raised_by       uuid not null references app_user (id),
    raised_at       timestamptz not null,
    closed_at       timestamptz,
    closed_by       text not null default '',
    unique (program_id, number)
);
create index nonconformance_end on nonconformance (end_id);

create table pour (
    id          uuid primary key,
    program_id  uuid not null references program (id),
    number      int not null,
    started_at  timestamptz not null,
    ended_at    timestamptz,
    note        text not null default '',
    by_user     uuid not null references app_user (id),
    captured_at timestamptz not null,
    arrived_at  timestamptz not null,
    check (ended_at is null or ended_at >= started_at),
    unique (program_id, number)
);

create table pour_end (
    id          uuid primary key,
    pour_id     uuid not null references pour (id),
    end_id      uuid not null references girder_end (id),
    volume_l    double precision check (volume_l > 0),
    unique (pour_id, end_id)
);
create index pour_end_end on pour_end (end_id);

create table batch (
    id          uuid primary key,
    pour_id     uuid not null references pour (id),
    number      int not null,
    mixed_at    timestamptz not null,
    placed_at   timestamptz,
    flow_mm     double precision check (flow_mm > 0),
    mix_temp_c  double precision,
    air_temp_c  double precision,
    refused     boolean not null default false,
    refused_why text not null default '',
    typed       jsonb not null default '{}',
    unique (pour_id, number),
    check (placed_at is null or placed_at >= mixed_at)
);

create table specimen (
    id          uuid primary key,
    program_id  uuid not null references program (id),
    pour_id     uuid not null references pour (id),
    batch_no    int not null,
    mark        text not null,
    kind        text not null,
    curing      text not null default 'standard' check (curing in ('standard', 'field')),
    duty        text not null default 'quality_control' check (duty in ('quality_control', 'verification', 'independent_assurance', 'dispute')),
    nominal_days double precision not null check (nominal_days > 0),
    cast_at     timestamptz not null,
    broken_at   timestamptz,
    load_n      double precision check (load_n > 0),
    width_mm    double precision check (width_mm > 0),     -- a diameter or a side
    depth_mm    double precision check (depth_mm > 0),     -- the diameter or side at right angles
    height_mm   double precision check (height_mm > 0),
    ends_ground boolean not null default false,
    machine_n   double precision check (machine_n > 0),
    fracture    int check (fracture between 1 and 6),
    strength_mpa double precision,        -- converted, derived when the break is entered
    raw_mpa     double precision,
    held        text not null default '', -- why a result is held for review
    tested_by   text not null default '',
    typed       jsonb not null default '{}',
    unique (program_id, mark),
    check (broken_at is null or broken_at > cast_at)
);
create index specimen_pour on specimen (pour_id);
create index specimen_due on specimen (program_id, cast_at) where broken_at is null;

-- Bytes of pictures, by their own hash; written once, never changed.
create table photo_blob (
    sha256  text primary key check (sha256 ~ '^[0-9a-f]{64}$'),
    bytes   bytea not null
);

create table photo (
    id          uuid primary key,
    end_id      uuid not null references girder_end (id),
    sha256      text not null references photo_blob (sha256),
    media_type  text not null check (media_type in ('image/jpeg', 'image/png', 'image/webp')),
    caption     text not null default '',
    subject     text not null default '',
    captured_at timestamptz not null,
    arrived_at  timestamptz not null,
    by_user     uuid not null references app_user (id),
    unique (end_id, sha256)
);

create table access_window (
    id          uuid primary key,
    program_id  uuid not null references program (id),
    kind        text not null,
    starts_at   timestamptz not null,
    ends_at     timestamptz not null,
    productive_h double precision not null check (productive_h >= 0),
    state       text not null check (state in ('planned', 'granted', 'shortened', 'lost', 'used')),
    party       text not null default '',
    reason      text not null default '',
    check (ends_at > starts_at)
);
create index access_window_when on access_window (program_id, kind, starts_at);

-- One evaluation each, as it stood after the last edit.
create table result (
    end_id          uuid not null references girder_end (id),
    subject         text not null check (subject in ('as_new', 'corroded', 'repaired', 'as_welded')),
    method_version  text not null,
    input_digest    text not null,
    capacity_n      double precision not null,
    demand_n        double precision not null,
    verdict         text not null,
    governing       text not null,
    checks          jsonb not null,
    primary key (end_id, subject)
);

-- The journal: one row for every edit, each carrying the hash of the one before.
create table journal (
    seq         bigint primary key,
    at          timestamptz not null,
    entry_id    uuid not null unique,
    program_id  uuid references program (id),
    end_id      uuid,
    actor_id    uuid not null,
    actor       text not null,
    kind        text not null,
    body        bytea not null,
    prev_hash   bytea not null,
    hash        bytea not null
);
create index journal_end on journal (end_id, seq);
create index journal_program on journal (program_id, seq);

create function journal_is_append_only() returns trigger language plpgsql as $$
begin
    raise exception 'the journal is append-only' using errcode = 'insufficient_privilege';
end $$;
create trigger journal_no_change before update or delete on journal
    for each row execute function journal_is_append_only();
create trigger journal_no_truncate before truncate on journal
    for each statement execute function journal_is_append_only();

-- The first answer to every client-made entry id, so that a repeat gets the same.
create table receipt (
    entry_id    uuid primary key,
    actor_id    uuid not null,
    request     bytea not null,      -- sha256 of what was asked
    answer      jsonb not null,
    at          timestamptz not null
);
