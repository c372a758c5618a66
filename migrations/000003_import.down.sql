drop table import_draft;
alter table hole drop column typed;
alter table reading drop column typed_x, drop column typed_z, drop column reason;
alter table span drop column typed;
alter table support drop column typed;
