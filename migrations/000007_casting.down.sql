drop index nonconformance_origin;
alter table nonconformance drop column state, drop column justification, drop column proposed_by, drop column proposer, drop column proposed_at, drop column ground,
    drop column work_done, drop column worked_by, drop column worker, drop column worked_at, drop column verified_by, drop column verified_at, drop column failures,
    drop column corrective, drop column reason, drop column origin;
drop table waiver;
drop table gate_decision;
drop table logger_map;
drop table curing_reading;
drop table curing_log;
drop table raw_file;
drop table strength_test;
drop table set_review;
alter table specimen drop column purpose, drop column demolded_at, drop column lost_why, drop column lost_by, drop column lost_at,
    drop column excluded_why, drop column excluded_by, drop column excluded_at, drop column corrected;
alter table specimen drop constraint specimen_curing_check;
alter table specimen add constraint specimen_curing_check check (curing in ('standard', 'field'));
drop table batch_end;
alter table batch drop column started_at, drop column place_start, drop column flow_1_mm, drop column flow_2_mm, drop column steel_temp_c, drop column premix_kg,
    drop column bags, drop column lot, drop column premix_made_on, drop column fiber_kg, drop column fiber_target_kg, drop column water_kg, drop column water_target_kg,
    drop column admixture_kg, drop column ice_kg, drop column note, drop column decided_by, drop column decided_at, drop column decided_why, drop column corrected;
alter table pour_end drop column cured_at, drop column cured_by, drop column cured_note;
drop index pour_mockup;
alter table pour drop column open, drop column window_id, drop column mockup_id, drop column weather, drop column form_head_mm, drop column last_batch_by;
drop table specimen_plan;
drop table mockup_decision;
drop table mockup;
alter table program drop column mockup_roles;
