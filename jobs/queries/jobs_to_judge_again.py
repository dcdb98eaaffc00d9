"""Jobs that something taken back from an earlier time may have cost credit, or with a fork not told of yet.

Or with a kit that another job turns out to have had before.

A key, a qualification or an instrument may be taken back; so it is by a calibration that comes in after work that it
speaks of, and that the instrument failed, or that was due again by then. An entry that has lost its credit to later
work may have carried a release all the same, and one that was merely logged twice undoes its step once that is taken
back. So every entry counts that has not been told of it.
"""

from uuid import UUID

from shops.queries.prepared import run

# An act is placed where the clock of its phone puts it, and never before what the phone signed earlier. The time since
# when follows, and closes the parenthesis.
_ACTED_SINCE = """EXISTS (
  SELECT FROM entries b WHERE b.company_id = e.company_id AND b.job_id = e.job_id AND b.key = e.key
    AND b.device_seq <= e.device_seq AND b.performed_at + b.skew_ms * interval '1 millisecond' >="""
_ENTRIES = f"""
SELECT e.job_id, e.id, ARRAY['key_not_valid'] AS told
FROM key_revocations v JOIN device_keys k ON k.company_id = v.company_id AND k.id = v.key_id
JOIN entries e ON e.company_id = v.company_id AND e.key = k.thumbprint
WHERE v.company_id = %(company)s AND {_ACTED_SINCE} v.revoked_from)
UNION ALL
SELECT e.job_id, e.id, ARRAY['not_qualified'] FROM qualification_withdrawals w
JOIN qualification_grants g ON g.company_id = w.company_id AND g.id = w.grant_id
JOIN entries e ON e.company_id = w.company_id AND e.technician_id = g.technician_id
WHERE w.company_id = %(company)s AND {_ACTED_SINCE} w.withdrawn_from)
UNION ALL
SELECT e.job_id, e.id, ARRAY['instrument_not_good', 'torque_wrench_not_good', 'test_kingpin_not_good']
FROM instrument_withdrawals w
JOIN instruments i ON i.company_id = w.company_id AND i.id = w.instrument_id
LEFT JOIN instrument_returns r ON r.company_id = w.company_id AND r.withdrawal_id = w.id
JOIN entries e ON e.company_id = w.company_id AND strpos(e.payload, i.code) > 0
WHERE w.company_id = %(company)s AND (r.id IS NULL OR e.performed_at < r.returned_at + interval '1 day')
  AND {_ACTED_SINCE} w.withdrawn_at)
UNION ALL
SELECT e.job_id, e.id, ARRAY['instrument_not_good', 'torque_wrench_not_good', 'test_kingpin_not_good']
FROM calibrations c
JOIN instruments i ON i.company_id = c.company_id AND i.id = c.instrument_id
JOIN entries e ON e.company_id = c.company_id AND e.received_at <= c.recorded_at AND strpos(e.payload, i.code) > 0
WHERE c.company_id = %(company)s AND (c.result = 'failed' OR c.due_at < c.recorded_at)
  AND {_ACTED_SINCE} c.performed_at)
"""
_JOBS = f"""
SELECT DISTINCT j.id FROM ({_ENTRIES}) f
JOIN jobs j ON j.company_id = %(company)s AND j.id = f.job_id AND j.facts_version < %(version)s
JOIN entry_credits c ON c.company_id = j.company_id AND c.entry_id = f.id
  AND (c.credit OR NOT c.finding_codes && f.told)
UNION
SELECT j.id FROM device_forks f JOIN jobs j ON j.company_id = f.company_id AND j.id IN (f.first_job_id, f.second_job_id)
JOIN entry_credits c ON c.company_id = f.company_id AND c.job_id = j.id AND c.entry_id IN (f.first_id, f.second_id)
WHERE f.company_id = %(company)s AND j.facts_version < %(version)s AND NOT 'forked_across_jobs' = ANY (c.finding_codes)
UNION
SELECT j.id FROM kit_movements m JOIN jobs j ON j.company_id = m.company_id AND j.id = m.job
JOIN entry_credits c ON c.company_id = m.company_id AND c.entry_id = m.id AND c.credit
JOIN kit_movements o ON o.company_id = m.company_id AND o.kit_id = m.kit_id AND o.kind = 'issued' AND o.job <> m.job
  AND o.moved_at <= m.moved_at
WHERE m.company_id = %(company)s AND m.kind = 'issued' AND j.facts_version < %(version)s AND NOT EXISTS (
  SELECT FROM kit_movements b WHERE b.company_id = m.company_id AND b.kit_id = m.kit_id AND b.kind <> 'issued'
    AND b.moved_at BETWEEN o.moved_at AND m.moved_at)
ORDER BY 1
"""


def jobs_to_judge_again(company: UUID, version: int) -> list[UUID]:
    """Jobs last derived with facts older than `version`; a few may turn out to have lost nothing."""
    return [row[0] for row in run(_JOBS, {"company": company, "version": version})]
