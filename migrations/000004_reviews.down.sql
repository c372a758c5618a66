drop index end_state_waits;
