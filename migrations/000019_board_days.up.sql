-- The days that ends are counted on are those of the program's time zone, no longer of
-- UTC, and ends in work are counted by the day they were begun. Counts are derived: the
-- program makes them anew when it starts.
delete from end_tally;
delete from program_tally;
