-- From mock-up to strength: what goes into a form, how it hardens, and what is
-- decided on it. Lengths in mm, masses in kg, stresses in MPa, temperatures in
-- degrees Celsius. Columns added to older tables are empty for rows from before.

-- Mock-ups: trial castings at like size before any end is cast.
alter table program add column mockup_roles text[] not null default '{}'; -- who must accept; empty: the default
create table mockup (
    id            uuid primary key,
    program_id    uuid not null references program (id),
    number        int not null check (number > 0),
    cast_at       timestamptz not null,
    stands_for    text not null,               -- the ends that it stands for, in words
    width_mm      double precision check (width_mm > 0),
    height_mm     double precision check (height_mm > 0),
    thickness_mm  double precision check (thickness_mm > 0),
    head_mm       double precision check (head_mm >= 0),
    obstructions  text not null default '',    -- studs, bars, stiffeners inside it
    flow_mm       double precision check (flow_mm > 0),
    fill_min      double precision check (fill_min > 0),
    leak_free     boolean not null default false,
    leaks         text not null default '',
    sections_cut  int not null default 0 check (sections_cut >= 0),
    voids         text not null default '',
    fiber_spread  text not null default '',
    note          text not null default '',
    state         text not null check (state in ('recorded', 'accepted', 'not_accepted', 'withdrawn')),
    state_why     text not null default '',
    by_user       uuid not null references app_user (id),
    by_name       text not null,
    by_role       text not null,
    captured_at   timestamptz not null,
    arrived_at    timestamptz not null,
    typed         jsonb not null default '{}',
    unique (program_id, number)
);
create table mockup_decision (
    id         uuid primary key,
    program_id uuid not null references program (id),
    mockup_id  uuid not null references mockup (id),
    role       text not null,
    decision   text not null check (decision in ('accepted', 'not_accepted')),
    reasons    text not null default '',
    waived     text not null default '',       -- why strengths that are not there were not asked for
    meaning    text not null,
    by_user    uuid not null references app_user (id),
    by_name    text not null,
    at         timestamptz not null,
    digest     text not null                   -- of what was decided on
);
create index mockup_decision_mockup on mockup_decision (mockup_id);

-- What the contract asks to be made of a casting.
create table specimen_plan (
    id           uuid primary key,
    program_id   uuid not null references program (id),
    ord          int not null,
    kind         text not null,
    curing       text not null check (curing in ('standard', 'field', 'match')),
    duty         text not null check (duty in ('quality_control', 'verification', 'independent_assurance', 'dispute')),
    nominal_days double precision not null check (nominal_days > 0),
    count        int not null check (count > 0),
    per          text not null check (per in ('casting', 'batch')),
    purpose      text not null check (purpose in ('strip', 'traffic', 'acceptance', 'spare', 'information')),
    source       text not null,
    set_by       uuid not null references app_user (id),
    set_by_name  text not null,
    set_at       timestamptz not null,
    retired      boolean not null default false
);
create index specimen_plan_program on specimen_plan (program_id);

-- A casting may be open while its batches come in, and may belong to a mock-up.
alter table pour
    add column open          boolean not null default false,
    add column window_id     uuid references access_window (id),
    add column mockup_id     uuid references mockup (id),
    add column weather       text not null default '',
    add column form_head_mm  double precision check (form_head_mm >= 0),
    add column last_batch_by timestamptz;
create index pour_mockup on pour (program_id) where mockup_id is not null;
alter table pour_end
    add column cured_at   timestamptz,          -- end of curing, as somebody said it
    add column cured_by   text not null default '',
    add column cured_note text not null default '';
alter table batch
    add column started_at      timestamptz,
    add column place_start     timestamptz,
    add column flow_1_mm       double precision check (flow_1_mm > 0),
    add column flow_2_mm       double precision check (flow_2_mm > 0),
    add column steel_temp_c    double precision,
    add column premix_kg       double precision check (premix_kg >= 0),
    add column bags            double precision check (bags >= 0),
    add column lot             text not null default '',
    add column premix_made_on  date,
    add column fiber_kg        double precision check (fiber_kg >= 0),
    add column fiber_target_kg double precision check (fiber_target_kg >= 0),
    add column water_kg        double precision check (water_kg >= 0),
    add column water_target_kg double precision check (water_target_kg >= 0),
    add column admixture_kg    double precision check (admixture_kg >= 0),
    add column ice_kg          double precision check (ice_kg >= 0),
    add column note            text not null default '',
    add column decided_by      text not null default '', -- who let a batch outside a stop limit stand
    add column decided_at      timestamptz,
    add column decided_why     text not null default '',
    add column corrected       text not null default ''; -- why it was last corrected, and by whom
create table batch_end (
    batch_id uuid not null references batch (id),
    end_id   uuid not null references girder_end (id),
    volume_l double precision check (volume_l > 0),
    seq      int not null,                      -- order in which the batch went to its ends
    primary key (batch_id, end_id)
);
create index batch_end_end on batch_end (end_id);

-- Specimens from mold to review.
alter table specimen drop constraint specimen_curing_check;
alter table specimen add constraint specimen_curing_check check (curing in ('standard', 'field', 'match'));
alter table specimen
    add column purpose      text not null default '',
    add column demolded_at  timestamptz,
    add column lost_why     text not null default '',
    add column lost_by      text not null default '',
    add column lost_at      timestamptz,
    add column excluded_why text not null default '',
    add column excluded_by  text not null default '',
    add column excluded_at  timestamptz,
    add column corrected    text not null default '';
create table set_review (
    id           uuid primary key,
    program_id   uuid not null references program (id),
    pour_id      uuid not null references pour (id),
    batch_no     int not null,
    kind         text not null,
    curing       text not null,
    duty         text not null,
    nominal_days double precision not null,
    verdict      text not null check (verdict in ('stands', 'void')),
    reason       text not null,
    digest       text not null,                 -- of the breaks that were reviewed
    by_user      uuid not null references app_user (id),
    by_name      text not null,
    by_role      text not null,
    at           timestamptz not null
);
create index set_review_pour on set_review (pour_id);

-- One completed acceptance set: a test, in the sense of the running rule.
create table strength_test (
    id            uuid primary key,
    program_id    uuid not null references program (id),
    pour_id       uuid not null references pour (id),
    batch_no      int not null,
    kind          text not null,
    curing        text not null,
    duty          text not null,
    nominal_days  double precision not null,
    cast_at       timestamptz not null,
    broken_at     timestamptz not null,
    mean_mpa      double precision not null,
    least_mpa     double precision not null,
    n             int not null,
    range_share   double precision not null,
    specified_mpa double precision not null,
    state         text not null check (state in ('sound', 'review', 'invalid', 'too_few')),
    low           text not null default '' check (low in ('', 'single', 'mean', 'both')),
    ncr_raised_at timestamptz,                  -- when its failure raised nonconformances
    unique (program_id, pour_id, batch_no, kind, curing, duty, nominal_days)
);
create index strength_test_order on strength_test (program_id, cast_at);

-- How concrete hardened. The readings of a log are many: they are not journaled one
-- by one but held to the digest of their log, which is. The file stays as it came.
create table raw_file (
    sha256 text not null check (sha256 ~ '^[0-9a-f]{64}$'),
    piece  int not null check (piece >= 0),    -- of a file that may be large, in order
    bytes  bytea not null,
    primary key (sha256, piece)
);
create table curing_log (
    id                    uuid primary key,
    program_id            uuid not null references program (id),
    pour_id               uuid not null references pour (id),
    end_id                uuid references girder_end (id), -- null: for every end of the casting
    sensor                text not null,
    place                 text not null check (place in ('coldest', 'core', 'form', 'air', 'specimen')),
    covered_at            timestamptz not null,
    kind                  text not null check (kind in ('file', 'hand')),
    file_name             text not null default '',
    sha256                text not null default '',
    map                   jsonb not null default '{}', -- columns of the file, as they were read
    rows                  int not null check (rows >= 0),
    first_at              timestamptz,
    last_at               timestamptz,
    hottest_c             double precision not null default 0,
    coldest_c             double precision not null default 0,
    longest_gap_h         double precision not null default 0,
    steepest_rise_c_per_h double precision not null default 0,
    readings_digest       text not null,
    note                  text not null default '',
    withdrawn_why         text not null default '',
    withdrawn_at          timestamptz,
    withdrawn_by          text not null default '',
    by_user               uuid not null references app_user (id),
    by_name               text not null,
    by_role               text not null,
    captured_at           timestamptz not null,
    arrived_at            timestamptz not null
);
create index curing_log_pour on curing_log (pour_id);
create table curing_reading (
    log_id uuid not null references curing_log (id),
    at     timestamptz not null,
    temp_c double precision not null,
    primary key (log_id, at)
);
create table logger_map (
    program_id  uuid not null references program (id),
    name        text not null,
    map         jsonb not null default '{}',
    set_by      uuid not null references app_user (id),
    set_by_name text not null,
    set_at      timestamptz not null,
    primary key (program_id, name)
);

-- The two gates of an end, decided by a named person on the evidence of that hour.
create table gate_decision (
    id         uuid primary key,
    end_id     uuid not null references girder_end (id),
    gate       text not null check (gate in ('strip', 'traffic')),
    decision   text not null check (decision in ('passed', 'refused')),
    limit_mpa  double precision not null,
    mean_mpa   double precision not null,
    set_name   text not null,
    evidence   jsonb not null default '[]',
    digest     text not null,
    reasons    text not null default '',
    meaning    text not null,
    by_user    uuid not null references app_user (id),
    by_name    text not null,
    by_role    text not null,
    at         timestamptz not null
);
create index gate_decision_end on gate_decision (end_id);

-- A condition of a step that somebody with authority did without, for one end.
create table waiver (
    id            uuid primary key,
    end_id        uuid not null references girder_end (id),
    step_id       uuid not null references step (id),
    condition     text not null,
    line          text not null default '',     -- of a tick list
    reason        text not null,
    by_user       uuid not null references app_user (id),
    by_name       text not null,
    by_role       text not null,
    at            timestamptz not null,
    withdrawn_why text not null default '',
    withdrawn_by  text not null default '',
    withdrawn_at  timestamptz
);
create index waiver_end on waiver (end_id);

-- Nonconformances by the whole rule: proposed, decided, worked, looked at again.
alter table nonconformance
    add column state         text not null default '' check (state in ('', 'raised', 'proposed', 'decided', 'worked', 'verified', 'closed', 'withdrawn')),
    add column justification text not null default '',
    add column proposed_by   text not null default '',
    add column proposer      text not null default '', -- who, by identifier
    add column proposed_at   timestamptz,
    add column ground        text not null default '',
    add column work_done     text not null default '',
    add column worked_by     text not null default '',
    add column worker        text not null default '',
    add column worked_at     timestamptz,
    add column verified_by   text not null default '',
    add column verified_at   timestamptz,
    add column failures      int not null default 0,
    add column corrective    text not null default '',
    add column reason        text not null default '', -- why it was last sent back, reopened or withdrawn
    add column origin        text not null default ''; -- what raised it, where no person did
create unique index nonconformance_origin on nonconformance (end_id, origin) where origin <> '';
