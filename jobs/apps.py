from shops.apps import RoomsConfig


class JobsConfig(RoomsConfig):
    name = "jobs"
    default = True
