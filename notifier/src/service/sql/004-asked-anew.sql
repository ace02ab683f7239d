-- What is put down under the address of somebody who confirmed before, and left: whoever did that, it
-- holds only once the link of the mail about it was used.
ALTER TABLE subscribers ADD COLUMN asked TEXT;  -- JSON, as choices
