-- What tablets send, kept word for word. An entry is stored once, whatever happens
-- to it: applied to the record at once, or kept aside until the engineer decides.
create table tablet_entry (
    id            uuid primary key,          -- made on the tablet
    program_id    uuid not null references program (id),
    end_id        uuid references girder_end (id), -- null: the program has no such end
    end_name      text not null,
    kind          text not null,
    state         text not null check (state in ('stored', 'aside', 'applied', 'recorded')),
    reason        text not null default '',  -- why it was kept aside
    changed       text[] not null default '{}', -- what was different when it arrived
    differs       text not null default '',  -- another person's finding at the same place
    raw           bytea not null,
    request       bytea not null,            -- sha256 of raw
    by_user       uuid not null references app_user (id),
    by_name       text not null,
    by_role       text not null,
    captured_text text not null,             -- the tablet's clock, with its offset
    captured_at   timestamptz not null,      -- set right by the server's
    sent_at       timestamptz not null,      -- the tablet's clock
    arrived_at    timestamptz not null,
    clock_s       double precision not null, -- the tablet's clock minus the server's
    clock_marked  boolean not null,
    answer        jsonb not null,
    decided_by    text not null default '',
    decided_at    timestamptz,
    decided_why   text not null default '',
    check ((state in ('applied', 'recorded')) = (decided_at is not null)),
    check (state = 'stored' or reason <> '')
);
create index tablet_entry_waits on tablet_entry (program_id, arrived_at) where state = 'aside' or differs <> '' or clock_marked;
create function tablet_entry_is_kept() returns trigger language plpgsql as $$
begin
    raise exception 'entries of tablets are never removed';
end $$;
create trigger tablet_entry_no_delete before delete on tablet_entry for each row execute function tablet_entry_is_kept();
create trigger tablet_entry_no_truncate before truncate on tablet_entry execute function tablet_entry_is_kept();

-- Pictures on their way. The rows go once the picture is on record.
create table tablet_upload (
    entry_id   uuid primary key,
    program_id uuid not null references program (id),
    by_user    uuid not null references app_user (id),
    sha256     text not null check (sha256 ~ '^[0-9a-f]{64}$'),
    size_b     bigint not null check (size_b > 0),
    begun_at   timestamptz not null
);
create table tablet_piece (
    entry_id uuid not null references tablet_upload (entry_id),
    start_b  bigint not null check (start_b >= 0),
    bytes    bytea not null,
    primary key (entry_id, start_b)
);

-- Checks of the shift that decide nothing by themselves stand beside inspections.
alter table inspection drop constraint inspection_subject_check;
alter table inspection add constraint inspection_subject_check
    check (subject in ('curing', 'hardened', 'gauges', 'load_path', 'test_studs', 'form', 'core', 'note'));
alter table inspection drop constraint inspection_outcome_check;
alter table inspection add constraint inspection_outcome_check
    check (outcome in ('accepted', 'not_accepted', 'engaged', 'not_engaged', 'undecided', 'noted'));
