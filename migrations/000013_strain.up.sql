-- Strain records as proof that a repair carries load.
create table sensor (
    id              uuid primary key,
    end_id          uuid not null references girder_end (id),
    name            text not null check (name <> ''),
    kind            text not null,
    from_bearing_mm double precision not null,  -- along the girder from the bearing line
    above_flange_mm double precision not null,  -- over the top of the bottom flange
    face            text not null default '' check (face in ('', 'L', 'R')),
    stud            text not null default '',   -- mark of the stud that it sits on
    other_end       boolean not null default false,
    place           text not null default '',
    direction       text not null,
    angle_deg       double precision not null default 0,
    channel         text not null,              -- of the logger
    sign            int not null check (sign in (-1, 1)), -- the way a truck moves it
    input           text not null,
    per_count       double precision not null default 0,
    bridge          text not null default '',
    factor          double precision not null default 0,
    poisson         double precision not null default 0,
    gauge_ohm       double precision not null default 0,
    lead_ohm        double precision not null default 0,
    wires           int not null default 0,
    gain            double precision not null default 0,
    offset_value    double precision not null default 0,
    reversed        boolean not null default false,
    range_low       double precision not null default 0,
    range_high      double precision not null default 0,
    shunt_ohm       double precision,
    shunt_ue        double precision,
    installed_at    timestamptz not null,
    removed_at      timestamptz,
    removed_why     text not null default '',
    zero_at         timestamptz,
    zero_raw        double precision not null default 0, -- as the logger wrote it
    note            text not null default '',
    by_user         uuid not null references app_user (id),
    by_name         text not null,
    by_role         text not null,
    captured_at     timestamptz not null,
    arrived_at      timestamptz not null,
    typed           jsonb not null default '{}'
);
create index sensor_end on sensor (end_id);

-- A recording is on record only when it was read to its end. Its samples lie in blocks; samples_digest stands for them.
create table recording (
    id             uuid primary key,
    program_id     uuid not null references program (id),
    end_id         uuid not null references girder_end (id),
    logger         text not null,
    file_name      text not null,
    sha256         text not null check (sha256 ~ '^[0-9a-f]{64}$'), -- of the file as it came
    size_bytes     bigint not null check (size_bytes > 0),
    map            jsonb not null default '{}', -- columns of the file, as they were read
    from_at        timestamptz not null,
    to_at          timestamptz not null,
    rate_hz        double precision not null check (rate_hz > 0),
    row_count      bigint not null check (row_count > 0),
    lost           double precision not null,   -- part of the time without rows
    channels       jsonb not null default '[]',
    found          jsonb not null default '[]', -- what screening found, with line and column
    found_total    jsonb not null default '{}',
    samples_digest text not null,
    note           text not null default '',
    withdrawn_why  text not null default '',
    withdrawn_at   timestamptz,
    withdrawn_by   text not null default '',
    by_user        uuid not null references app_user (id),
    by_name        text not null,
    by_role        text not null,
    captured_at    timestamptz not null,
    arrived_at     timestamptz not null,
    check (to_at >= from_at)
);
create index recording_end on recording (end_id);

-- What strains are turned into forces with, where the engineer names it instead of taking what the design gives.
create table strain_setup (
    end_id         uuid primary key references girder_end (id),
    web_ea_n       double precision check (web_ea_n > 0),
    panel_ea_n     double precision check (panel_ea_n > 0),
    web_error      double precision not null check (web_error >= 0),
    panel_error    double precision not null check (panel_error >= 0),
    design_slip_mm double precision not null default 0 check (design_slip_mm >= 0),
    source         text not null,
    set_by         uuid not null references app_user (id),
    set_by_name    text not null,
    set_at         timestamptz not null
);

create table strain_verdict (
    id       uuid primary key,
    end_id   uuid not null references girder_end (id),
    result   text not null check (result in ('engaged', 'not_engaged', 'not_enough', 'indicative')),
    decided  text not null check (decided in ('before', 'days', 'later')), -- state after casting that it compares
    words    text not null,
    method   int not null,
    digest   text not null,                     -- of everything that it stands on
    judgment text not null,                     -- the whole of it, as it was confirmed
    note     text not null default '',
    meaning  text not null,
    by_user  uuid not null references app_user (id),
    by_name  text not null,
    by_role  text not null,
    at       timestamptz not null
);
create index strain_verdict_end on strain_verdict (end_id);

-- Samples of recordings, also of those that are being read and are no part of the record yet. Channel -1 are the times.
create table sample_block (
    recording_id uuid not null,
    channel      smallint not null check (channel >= -1),
    block        int not null check (block >= 0),
    from_ns      bigint not null,
    to_ns        bigint not null,
    samples      int not null check (samples > 0),
    thin         bytea not null, -- least and greatest of each few dozen samples
    data         bytea not null,
    primary key (recording_id, channel, block)
);
alter table sample_block alter column data set storage external;
alter table sample_block alter column thin set storage external;
create index sample_block_time on sample_block (recording_id, channel, to_ns) include (from_ns);
create table sample_overview (
    recording_id uuid not null,
    channel      smallint not null,
    from_ns      bigint not null,
    to_ns        bigint not null,
    bins         bytea not null,
    primary key (recording_id, channel)
);

-- Passages found in a recording. They follow from samples, sensors and settings, which the digest names, and are made
-- anew when it does not fit.
create table recording_found (
    recording_id uuid primary key,
    digest       text not null,
    data         bytea not null,
    at           timestamptz not null
);

-- Work on recordings that takes longer than a request. No part of the record.
create table strain_job (
    id           uuid primary key,
    program_id   uuid not null references program (id),
    end_id       uuid not null references girder_end (id),
    user_id      uuid not null references app_user (id),
    kind         text not null check (kind in ('import', 'find')),
    state        text not null check (state in ('waiting', 'running', 'done', 'failed', 'cancelled')),
    draft_id     uuid,
    recording_id uuid not null,
    ask          jsonb not null,
    rows_read    bigint not null default 0,
    bytes_read   bigint not null default 0,
    bytes_total  bigint not null default 0,
    message      text not null default '',
    created_at   timestamptz not null,
    started_at   timestamptz,
    ended_at     timestamptz
);
create index strain_job_end on strain_job (end_id, created_at);
create index strain_job_open on strain_job (created_at) where state in ('waiting', 'running');

alter table logger_draft add column end_id uuid references girder_end (id); -- that a file of strain was sent for
