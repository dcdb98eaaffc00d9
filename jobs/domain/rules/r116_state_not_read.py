"""R116 · Who resumes a job has read the state in which it was left, and says so.

Example: paused on Friday with the left jaw in and the pin not driven; resumed on Monday unread: still paused.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import ResumeBody
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    116,
    "state_not_read",
    "Who resumes a job has read the state in which it was left, and says so.",
    Response.NO_CREDIT,
)


def check(_bench: Bench, act: Act) -> Finding | None:
    if not isinstance(act.body, ResumeBody) or act.body.state_read:
        return None
    return RULE.found("The state note was not read.", "Read it, look at the work, and resume with state_read true.")
