-- What is known of a photograph beside its bytes, and where the bytes are.
alter table photo
    add column face          text not null default '' check (face in ('', 'L', 'R')),
    add column x_mm          double precision,
    add column z_mm          double precision,
    add column size_b        bigint not null default 0 check (size_b >= 0), -- 0: arrived before this was kept
    add column width_px      int not null default 0 check (width_px >= 0),
    add column height_px     int not null default 0 check (height_px >= 0),
    add column original_name text not null default '',
    add column taken_with    text not null default '',
    add column camera_at     text not null default '', -- by the camera's clock, as the picture says it
    add column device_at     text not null default '', -- by the tablet's clock, with its offset
    add column place         boolean not null default false, -- the metadata hold a place, or something that cannot be read
    add column policy        text not null default '' check (policy in ('', 'sealed', 'refuse')),
    add constraint photo_pin check ((x_mm is null) = (z_mm is null)),
    add constraint photo_pin_face check (x_mm is null or face <> '');

-- What is done about the metadata of photographs; empty: the original is shown as it is.
alter table program add column photo_policy text not null default '' check (photo_policy in ('', 'sealed', 'refuse'));

-- A picture's bytes are here, or in a folder under their hash.
alter table photo_blob alter column bytes drop not null;
alter table photo_blob add column size_b bigint not null default 0 check (size_b >= 0);
update photo_blob set size_b = octet_length(bytes);
create index photo_blob_folder on photo_blob (sha256) where bytes is null;

-- Small copies follow from the originals and can be made anew at any time; they are
-- no part of the journal. Without bytes: why there is none.
create table photo_thumb (
    sha256    text primary key references photo_blob (sha256),
    bytes     bytea,
    width_px  int not null default 0,
    height_px int not null default 0,
    why       text not null default '',
    check ((bytes is null) = (why <> ''))
);
