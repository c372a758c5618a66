-- Documents are PDFs as they were made, kept as raw files, with what each was made from;
-- signatures are what people said of their very bytes. Neither ever changes.
create table signing_key (
    id         text primary key check (id ~ '^[0-9a-f]{64}$'), -- SHA-256 of the public key in its standard form
    public     bytea not null check (octet_length(public) = 32),
    seed       bytea check (octet_length(seed) = 32),          -- the secret part; gone once the key is retired
    made_at    timestamptz not null,
    retired_at timestamptz,
    check ((seed is null) = (retired_at is not null))
);
create unique index signing_key_in_use on signing_key ((true)) where retired_at is null;

create table document (
    id             uuid primary key,
    program_id     uuid not null references program (id),
    end_id         uuid references girder_end (id),            -- null: of the program
    number         int not null check (number > 0),
    kind           text not null check (kind in ('calculation', 'as_built', 'program')),
    title          text not null,
    sha256         text not null check (sha256 ~ '^[0-9a-f]{64}$'),
    size_b         bigint not null check (size_b > 0),
    pages          int not null check (pages >= 0),
    record_digest  text not null check (record_digest ~ '^[0-9a-f]{64}$'),
    method_version text not null,
    journal_seq    bigint not null check (journal_seq >= 0),
    journal_hash   text not null,
    units          text not null check (units in ('us', 'si')),
    release        text not null default '',
    made_by        uuid not null references app_user (id),
    made_by_name   text not null,
    made_by_role   text not null,
    made_at        timestamptz not null,
    unique (program_id, number),
    check ((kind = 'program') = (end_id is null))
);
create index document_end on document (end_id, number);
create index document_file on document (sha256);

create table signature (
    id           uuid primary key,
    program_id   uuid not null references program (id),
    document_id  uuid not null references document (id),
    meaning      text not null check (meaning in ('prepared', 'checked', 'approved', 'as_built')),
    by_user      uuid not null references app_user (id),
    by_name      text not null,
    by_role      text not null,
    at           timestamptz not null,
    statement    text not null,
    key_id       text not null references signing_key (id),
    of_file      bytea not null check (octet_length(of_file) = 64),
    of_statement bytea not null check (octet_length(of_statement) = 64),
    unique (document_id, by_user)
);

create function stays_as_it_is() returns trigger language plpgsql as $$
begin
    raise exception 'a row of % stays as it is', tg_table_name using errcode = 'insufficient_privilege';
end $$;
create trigger document_stays before update or delete on document for each row execute function stays_as_it_is();
create trigger signature_stays before update or delete on signature for each row execute function stays_as_it_is();

-- A kept file stays as it is once a document is made of it.
create function file_of_document_stays() returns trigger language plpgsql as $$
begin
    if exists (select from document where sha256 = old.sha256) then
        raise exception 'a file of a document stays as it is' using errcode = 'insufficient_privilege';
    end if;
    return coalesce(new, old);
end $$;
create trigger raw_file_stays before update or delete on raw_file for each row execute function file_of_document_stays();
