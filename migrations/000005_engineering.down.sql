drop index end_state_reserve;
drop index end_state_rating;
drop index end_state_fall;
drop index end_state_chance;
drop index end_state_rank;
alter table end_state drop column demand_how, drop column outside, drop column chance, drop column fall_verdict, drop column fall_early,
    drop column rating_least, drop column reserve, drop column rank_class, drop column rank_key;
drop index girder_end_span;
drop table outlook;
drop table assumption;
drop table procedure_pack;
drop table truck;
drop table end_demand;
drop table load_part;
drop table span_demand;
