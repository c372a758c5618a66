delete from end_tally;
delete from program_tally;
