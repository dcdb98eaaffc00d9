"""Make the peer's tables, a technician with a token, and a job a client; print what a client needs as JSON.

python -m tests.benchmarks.peer.prepare CLIENTS
"""

import json
import os
import sys


def main() -> None:
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.benchmarks.peer.settings"
    import django
    from django.core.management import call_command

    django.setup()
    call_command("migrate", verbosity=0)
    from django.contrib.auth.models import User
    from rest_framework.authtoken.models import Token

    from tests.benchmarks.peer.models import Job, Technician

    token = Token.objects.create(user=User.objects.create_user("RM"))
    technician = Technician.objects.create(initials="RM")
    jobs = [Job.objects.create(reference=f"WO-{at}").pk for at in range(int(sys.argv[1]))]
    print(json.dumps({"token": token.key, "technician": technician.pk, "jobs": jobs}))


if __name__ == "__main__":
    main()
