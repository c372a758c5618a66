-- What a girder end must carry and how it came to that number, the procedures that owners enter, and what uncertainty,
-- time and rating say of each end. Lengths in mm, forces in N, stresses in MPa, a load per length in N/mm.

-- The cross section of a span as the distribution of load reads it. No row: nobody has entered it.
create table span_demand (
    span_id            uuid primary key references span (id),
    program_id         uuid not null references program (id),
    deck_mm            double precision not null check (deck_mm > 0),      -- structural thickness
    edge_left_mm       double precision not null,       -- web of the outer girder to the face of the curb, outboard positive
    edge_right_mm      double precision not null,
    overhang_left_mm   double precision not null check (overhang_left_mm >= 0),   -- web of the outer girder to the edge of the deck
    overhang_right_mm  double precision not null check (overhang_right_mm >= 0),
    skew_near_deg      double precision not null check (skew_near_deg > -75 and skew_near_deg < 75),
    skew_far_deg       double precision not null check (skew_far_deg > -75 and skew_far_deg < 75),
    lanes              int not null default 0 check (lanes between 0 and 20),     -- 0: as many as the roadway holds
    -- For the longitudinal stiffness of a girder; a ratio of zero: not known.
    modular_ratio      double precision not null default 0 check (modular_ratio between 0 and 30),  -- girder over deck
    haunch_mm          double precision not null default 0 check (haunch_mm >= 0),                  -- between flange and deck
    adtt               int check (adtt >= 0),           -- trucks a day in one direction; null: not known
    source             text not null check (length(source) between 1 and 500),
    typed              jsonb not null default '{}',
    set_by             uuid not null references app_user (id),
    set_by_name        text not null,
    set_at             timestamptz not null
);

-- Parts of the dead load of a span. A part that no longer counts is retired; none is removed.
create table load_part (
    id           uuid primary key,
    program_id   uuid not null references program (id),
    span_id      uuid not null references span (id),
    ord          int not null,
    name         text not null check (length(name) between 1 and 200),
    bucket       text not null check (bucket in ('dc1', 'dc2', 'dw')),
    kind         text not null check (kind in ('line', 'point', 'area')),
    value        double precision not null check (value >= 0),       -- N/mm, N or N/mm2 by kind
    placed       text not null check (placed in ('each', 'shared', 'tributary', 'exterior', 'one')),
    girder_no    int not null default 0 check (girder_no >= 0),      -- of placed = one
    at_mm        double precision not null default 0,                -- of a point, from the bearing line toward the span
    from_side    text not null default '' check (from_side in ('', 'N', 'F')),
    retired      boolean not null default false,
    source       text not null default '' check (length(source) <= 500),
    typed        jsonb not null default '{}',
    set_by       uuid not null references app_user (id),
    set_by_name  text not null,
    set_at       timestamptz not null
);
create index load_part_span on load_part (span_id);
create index load_part_program on load_part (program_id);

-- How the demand at an end comes. No row: the factored total of girder_end.reaction_n.
create table end_demand (
    end_id            uuid primary key references girder_end (id),
    how               text not null check (how in ('by_hand_total', 'by_hand_parts', 'by_statics')),
    dc1_n             double precision check (dc1_n >= 0),
    dc2_n             double precision check (dc2_n >= 0),
    dw_n              double precision check (dw_n >= 0),
    live_n            double precision check (live_n >= 0),   -- design load with share and impact, without load factor
    condition         text not null default '' check (condition in ('', 'good', 'fair', 'poor')),   -- of the member, for rating
    loss_measured     boolean not null default false,         -- the engineer lets the measured loss raise the condition factor
    wearing_measured  boolean not null default false,         -- thickness of the wearing surface was measured
    source            text not null check (length(source) between 1 and 500),
    typed             jsonb not null default '{}',
    set_by            uuid not null references app_user (id),
    set_by_name       text not null,
    set_at            timestamptz not null
);

-- Vehicles of a program: its own, and those that ship where it changed them.
create table truck (
    id                uuid primary key,
    program_id        uuid not null references program (id),
    code              text not null check (length(code) between 1 and 40),
    name              text not null default '' check (length(name) <= 200),
    class             text not null check (class in ('design', 'legal', 'special_hauling', 'emergency', 'permit', 'fatigue')),
    axle_loads_n      double precision[] not null,
    axle_gaps_mm      double precision[] not null,            -- to the axle before; 0 for the first
    axle_gaps_max_mm  double precision[] not null,            -- 0 where a gap is fixed
    gross_n           double precision not null default 0 check (gross_n >= 0),
    lane_n_mm         double precision not null default 0 check (lane_n_mm >= 0),
    lane_point_n      double precision not null default 0 check (lane_point_n >= 0),
    lane_alone        boolean not null default false,
    load_name         text not null default '',
    method            text not null default '' check (method in ('', 'lrfr', 'load_factor')),
    one_lane          boolean not null default false,
    gamma             double precision not null default 0 check (gamma >= 0),   -- live-load factor of a permit; 0: the setting
    over_mm           double precision not null default 0 check (over_mm >= 0),
    tag               text not null,
    retired           boolean not null default false,
    source            text not null check (length(source) between 1 and 500),
    typed             jsonb not null default '{}',
    set_by            uuid not null references app_user (id),
    set_by_name       text not null,
    set_at            timestamptz not null,
    unique (program_id, code),
    check (cardinality(axle_loads_n) >= 1 and cardinality(axle_loads_n) <= 40 and cardinality(axle_gaps_mm) = cardinality(axle_loads_n)
        and cardinality(axle_gaps_max_mm) = cardinality(axle_loads_n))
);

-- Procedures for corroded ends that an engineer transcribed from a licensed text. Content is never altered after entry.
create table procedure_pack (
    id               uuid primary key,
    program_id       uuid not null references program (id),
    name             text not null check (length(name) between 1 and 120),
    version          int not null check (version >= 1),
    body             text not null check (length(body) between 1 and 120),
    edition          text not null check (length(edition) between 1 and 120),
    tag              text not null,
    zone_height_mm   double precision not null check (zone_height_mm > 0),
    zone_search      double precision not null check (zone_search between 0 and 1),
    lowest_row_mm    double precision not null check (lowest_row_mm >= 0),
    averaging        text not null check (averaging in ('row_minimum', 'zone_mean', 'thinnest')),
    yielding_sound   double precision not null check (yielding_sound > 0),
    yielding_holed   double precision not null check (yielding_holed > 0),
    crippling_sound  double precision not null check (crippling_sound > 0),
    crippling_holed  double precision not null check (crippling_holed > 0),
    deviation_flag   double precision not null check (deviation_flag >= 0),
    deviation_limit  double precision not null check (deviation_limit >= 0),
    hole_limit       double precision not null check (hole_limit >= 0),
    fewest_readings  int not null check (fewest_readings >= 0),
    note             text not null default '',
    typed            jsonb not null default '{}',
    transcribed_by   uuid not null references app_user (id),
    transcribed_name text not null,
    transcribed_at   timestamptz not null,
    checked_by       uuid references app_user (id),
    checked_name     text not null default '',
    checked_at       timestamptz,
    check_note       text not null default '',
    in_force         boolean not null default false,
    force_since      timestamptz,
    force_reason     text not null default '',
    retired_at       timestamptz,
    retired_reason   text not null default '',
    unique (program_id, name, version),
    check (checked_by is null or checked_by <> transcribed_by),
    check ((checked_by is null) = (checked_at is null)),
    check (not in_force or checked_at is not null and retired_at is null),
    -- At most one in force, looked at when the edit commits: one edit takes the old one out and puts the new one in.
    constraint procedure_pack_in_force exclude using btree (program_id with =) where (in_force) deferrable initially deferred
);

-- Loss of thickness a year that an owner assumes where surveys do not tell it.
create table assumption (
    program_id    uuid primary key references program (id),
    rate_low_mm   double precision not null check (rate_low_mm >= 0),
    rate_mm       double precision not null check (rate_mm >= rate_low_mm),
    rate_high_mm  double precision not null check (rate_high_mm >= rate_mm),
    withdrawn     boolean not null default false,       -- no rate is assumed any more
    source        text not null check (length(source) between 1 and 500),
    typed         jsonb not null default '{}',
    set_by        uuid not null references app_user (id),
    set_by_name   text not null,
    set_at        timestamptz not null
);

-- What uncertainty, time and rating say of an end: derived, in the edit's own transaction. The documents are json and
-- not jsonb, so that a recomputed row is the same bytes.
create table outlook (
    end_id          uuid primary key references girder_end (id),
    program_id      uuid not null references program (id),
    method_version  text not null,
    input_digest    text not null,              -- over those that follow
    chance_digest   text not null default '',
    fall_digest     text not null default '',
    share_digest    text not null default '',
    rating_digest   text not null default '',
    chance          double precision,           -- that capacity is below demand; null where it was not sampled
    chance_low      double precision,
    chance_high     double precision,
    samples         int not null default 0,
    seed            bigint not null default 0,
    odds            json,
    fall_verdict    text not null default '',
    fall_year       double precision,           -- calendar year with its fraction; null where it does not come
    fall_early      double precision,
    fall_late       double precision,
    fall            json,
    rating_new      double precision,           -- least rating factor of the end as new; null where none is known
    rating_corroded double precision,
    rating_repaired double precision,
    rating_welded   double precision,
    rating          json,
    share_low       double precision,           -- part of the load placed after hardening that the panel is to take
    share_high      double precision,
    reduction_low   double precision,           -- fall of web strain below the studs
    reduction_high  double precision,
    foreseen        json
);

create index girder_end_span on girder_end (span_id);

-- What lists sort by. An order is a list of numbers, each ascending, and the name: so a page can go on where the one
-- before it ended.
alter table end_state
    add column demand_how text not null default 'by_hand_total',
    add column outside boolean not null default false,     -- a limit of the method is not met, by the latest survey
    add column chance double precision,
    add column fall_verdict text not null default '',
    add column fall_early double precision,
    add column rating_least double precision,               -- of the end as it is: corroded, or as new without a survey
    add column reserve double precision not null default 0, -- capacity over demand, corroded or as new without a survey
    add column rank_class smallint not null default 9,      -- of the order of repair: short, falling, a chance, steady, no demand
    add column rank_key double precision not null default 0;
create index end_state_rank on end_state (program_id, rank_class, rank_key, (-coalesce(chance, 0)), reserve, (name collate "C"));
create index end_state_chance on end_state (program_id, (-coalesce(chance, -1)), (name collate "C"));
create index end_state_fall on end_state (program_id, coalesce(fall_early, 'infinity'), (name collate "C"));
create index end_state_rating on end_state (program_id, coalesce(rating_least, 'infinity'), (name collate "C"));
create index end_state_reserve on end_state (program_id, reserve, (name collate "C"));
