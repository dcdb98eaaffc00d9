"""A legal hold says when the incident was; a condemned casting that turns up on a unit holds the unit."""

from django.db import migrations, models

# Whoever puts a condemned casting on a unit, over HTTP or not, holds the unit; once, until quality clears it.
FORWARD = """
SET LOCAL lock_timeout = '5s';
CREATE FUNCTION hold_for_condemned_casting() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  INSERT INTO unit_holds (company_id, id, unit_id, kind, reason, may_clear, held_at, recorded_by)
    SELECT NEW.company_id, gen_random_uuid(), NEW.unit_id, 'condemned_casting',
           'The casting ' || p.casting_serial || ', condemned on ' ||
           to_char(c.condemned_at AT TIME ZONE 'UTC', 'YYYY-MM-DD') || ', was put on this unit.',
           'quality', now(), 'the record'
    FROM condemnations c JOIN top_plates p ON p.company_id = c.company_id AND p.id = c.top_plate_id
    WHERE c.company_id = NEW.company_id AND c.top_plate_id = NEW.top_plate_id
      AND NOT EXISTS (
        SELECT FROM unit_holds h
        WHERE h.company_id = NEW.company_id AND h.unit_id = NEW.unit_id AND h.kind = 'condemned_casting'
          AND NOT EXISTS (SELECT FROM unit_hold_clearings x WHERE x.company_id = h.company_id AND x.hold_id = h.id));
  RETURN NULL;
END $$;
CREATE TRIGGER couplings_hold_condemned AFTER INSERT OR UPDATE OF unit_id, top_plate_id ON couplings
  FOR EACH ROW WHEN (NEW.unit_id IS NOT NULL AND NEW.top_plate_id IS NOT NULL)
  EXECUTE FUNCTION hold_for_condemned_casting();
"""
BACKWARD = """
DROP TRIGGER couplings_hold_condemned ON couplings;
DROP FUNCTION hold_for_condemned_casting();
"""


class Migration(migrations.Migration):
    dependencies = [("jobs", "0007_transfers")]
    operations = [
        migrations.AddField(model_name="unithold", name="incident_at", field=models.DateTimeField(null=True)),
        migrations.RunSQL(FORWARD, BACKWARD),
    ]
