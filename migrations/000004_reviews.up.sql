-- Designs that wait for the owner's engineer: counted on every page, listed on one.
create index end_state_waits on end_state (program_id) where design_state = 'submitted' or out_of_date;
