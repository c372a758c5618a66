-- Checks of the shift with their figures: the set-up test of a stud welder, the form
-- before the pour, a core through the deck. What was recorded of them in words before
-- stays in inspection.
create table test_stud (
    id               uuid primary key,
    end_id           uuid not null references girder_end (id),
    shift_on         text not null check (shift_on ~ '^\d{4}-\d{2}-\d{2}$'), -- day on which the shift began, of the platform's own calendar
    position         text not null check (position in ('vertical', 'flat', 'overhead')),
    set_up           text not null default '',  -- what the studs were welded on
    stud_diameter_mm double precision not null check (stud_diameter_mm > 0),
    welder           text not null check (welder <> ''),
    equipment        text not null default '',
    current_a        double precision check (current_a > 0),
    time_s           double precision check (time_s > 0),
    lift_mm          double precision check (lift_mm > 0),
    plunge_mm        double precision check (plunge_mm > 0),
    tested           int not null check (tested > 0),
    bend_deg         double precision not null check (bend_deg >= 0 and bend_deg <= 90),
    bend_clock       int check (bend_clock >= 1 and bend_clock <= 12), -- hour toward which they were bent
    collar_full      boolean not null,          -- all round, each of them
    cracked          boolean not null,          -- any of them, when bent
    after_change     boolean not null,          -- repeated since the setting was changed
    outcome          text not null check (outcome in ('accepted', 'not_accepted')),
    note             text not null default '',
    typed            jsonb not null default '{}',
    by_user          uuid not null references app_user (id),
    by_name          text not null,
    by_role          text not null,
    captured_at      timestamptz not null,
    arrived_at       timestamptz not null,
    check (outcome <> 'accepted' or (collar_full and not cracked))
);
create index test_stud_end on test_stud (end_id);

create table form_check (
    id             uuid primary key,
    end_id         uuid not null references girder_end (id),
    face           text not null check (face in ('L', 'R', 'B')), -- B: both in one
    width_mm       double precision check (width_mm > 0),
    height_mm      double precision check (height_mm > 0),
    thickness_mm   double precision check (thickness_mm > 0),     -- from the web to the form
    cover_mm       double precision check (cover_mm >= 0),        -- least, from a stud's head to the form
    braced         boolean not null,                              -- for the full head
    seals_tight    boolean not null,
    water_test_min double precision check (water_test_min >= 0),
    leaked         boolean,                                       -- null: no water test
    bearing_free   boolean not null,
    holes_clear    boolean not null,                              -- feed and vents
    outcome        text not null check (outcome in ('accepted', 'not_accepted')),
    note           text not null default '',
    typed          jsonb not null default '{}',
    by_user        uuid not null references app_user (id),
    by_name        text not null,
    by_role        text not null,
    captured_at    timestamptz not null,
    arrived_at     timestamptz not null,
    check (outcome <> 'accepted' or (braced and seals_tight and bearing_free and holes_clear and leaked is not true))
);
create index form_check_end on form_check (end_id);

create table deck_core (
    id           uuid primary key,
    end_id       uuid not null references girder_end (id),
    number       int not null check (number > 0),
    along_mm     double precision not null,     -- from the girder end
    across_mm    double precision not null,     -- from the web, right looking ahead is positive
    diameter_mm  double precision not null check (diameter_mm > 0),
    depth_mm     double precision check (depth_mm > 0),
    bars_located boolean not null,              -- before drilling
    bar_cut      boolean not null,
    leave        text not null default '',      -- who allowed the cut
    open_clean   boolean not null,
    outcome      text not null check (outcome in ('accepted', 'not_accepted')),
    note         text not null default '',
    typed        jsonb not null default '{}',
    by_user      uuid not null references app_user (id),
    by_name      text not null,
    by_role      text not null,
    captured_at  timestamptz not null,
    arrived_at   timestamptz not null,
    check (outcome <> 'accepted' or (bars_located and open_clean and (not bar_cut or leave <> '')))
);
create index deck_core_end on deck_core (end_id);
