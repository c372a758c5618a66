-- Counts gain what forecasts and the view of several bridges stand on. They are derived:
-- the program makes them anew when it starts.
delete from end_tally;
delete from program_tally;
