drop table photo_thumb;
-- Pictures in a folder must be moved back into the database first; this fails otherwise.
alter table photo_blob alter column bytes set not null;
drop index photo_blob_folder;
alter table photo_blob drop column size_b;
alter table program drop column photo_policy;
alter table photo
    drop constraint photo_pin_face,
    drop constraint photo_pin,
    drop column policy,
    drop column place,
    drop column device_at,
    drop column camera_at,
    drop column taken_with,
    drop column original_name,
    drop column height_px,
    drop column width_px,
    drop column size_b,
    drop column z_mm,
    drop column x_mm,
    drop column face;
