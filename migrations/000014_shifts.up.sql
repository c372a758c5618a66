-- What the program owns of each kind of access, and what must be confirmed before work starts in a window of it.
create table window_kind (
    id            uuid primary key,
    program_id    uuid not null references program (id),
    name          text not null check (length(name) between 1 and 120),
    confirmations text[] not null default '{}',
    setup_min     int not null default 0 check (setup_min >= 0),
    handback_min  int not null default 0 check (handback_min >= 0),
    every_days    double precision not null default 0 check (every_days >= 0),   -- 0: as the calendar shows
    note          text not null default '',
    unique (program_id, name)
);

create table window_confirmation (
    id           uuid primary key,
    program_id   uuid not null references program (id),
    window_id    uuid not null references access_window (id),
    item         text not null,
    note         text not null default '',
    by_user      uuid not null references app_user (id),
    by_name      text not null,
    by_role      text not null,
    captured_at  timestamptz not null,
    arrived_at   timestamptz not null,
    withdrawn_why text not null default '',
    withdrawn_by  text not null default '',
    withdrawn_at  timestamptz
);
create index window_confirmation_window on window_confirmation (window_id);

create table crew (
    id         uuid primary key,
    program_id uuid not null references program (id),
    name       text not null check (length(name) between 1 and 80),
    trades     text[] not null default '{}',
    kinds      text[] not null default '{}',      -- of access in which it works; none: all
    note       text not null default '',
    retired    boolean not null default false,
    unique (program_id, name)
);

-- How long a step takes a crew, what it must be qualified for, and what it uses up.
create table step_effort (
    program_id uuid not null references program (id),
    step_id    uuid not null references step (id),
    minutes    int not null check (minutes between 1 and 100000),
    trades     text[] not null default '{}',
    uses       jsonb not null default '{}',
    source     text not null default '',
    primary key (program_id, step_id)
);

create table shift_stock (
    program_id uuid not null references program (id),
    name       text not null check (length(name) between 1 and 80),
    on_hand    int not null check (on_hand >= 0),
    note       text not null default '',
    primary key (program_id, name)
);

-- What a person decided for one end in one window; the proposal keeps to it.
create table window_choice (
    id          uuid primary key,
    program_id  uuid not null references program (id),
    window_id   uuid not null references access_window (id),
    end_id      uuid not null references girder_end (id),
    crew_id     uuid references crew (id),          -- null: the end is left out
    steps       int not null default 0 check (steps >= 0),
    reason      text not null default '',
    by_user     uuid not null references app_user (id),
    by_name     text not null,
    by_role     text not null,
    at          timestamptz not null,
    withdrawn_by text not null default '',
    withdrawn_at timestamptz
);
create index window_choice_window on window_choice (window_id);

-- A promise of a step in a window, as the look-ahead holds it: all or nothing.
create table promise (
    id          uuid primary key,
    program_id  uuid not null references program (id),
    window_id   uuid not null references access_window (id),
    end_id      uuid not null references girder_end (id),
    step_id     uuid not null references step (id),
    crew_id     uuid references crew (id),
    needs       text not null default '',            -- what is open, in words
    owner       text not null default '',            -- who clears it
    needed_by   date,
    ready       boolean not null,                     -- nothing was open when it was promised
    by_user     uuid not null references app_user (id),
    by_name     text not null,
    by_role     text not null,
    at          timestamptz not null,
    state       text not null check (state in ('promised', 'kept', 'slipped', 'withdrawn')),
    why         text not null default '',
    cause       text not null default '',
    settled_by  text not null default '',
    settled_at  timestamptz
);
create index promise_window on promise (window_id);
create index promise_open on promise (program_id) where state = 'promised';

-- A past window that the forecast leaves out, with the written reason.
create table window_exclusion (
    id          uuid primary key,
    program_id  uuid not null references program (id),
    window_id   uuid not null references access_window (id),
    reason      text not null check (length(reason) >= 1),
    by_user     uuid not null references app_user (id),
    by_name     text not null,
    by_role     text not null,
    at          timestamptz not null,
    withdrawn_by text not null default '',
    withdrawn_at timestamptz
);
create index window_exclusion_program on window_exclusion (program_id);

-- Windows count what was finished in them.
create index step_record_captured on step_record (captured_at) where kind = 'completed';
