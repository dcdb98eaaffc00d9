from rest_framework.routers import SimpleRouter

from tests.benchmarks.peer.api import EntryViewSet

router = SimpleRouter(trailing_slash=False)
router.register("entries", EntryViewSet)
urlpatterns = router.urls
