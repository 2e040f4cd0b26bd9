"""Every address of the site; the only place that imports views."""

urlpatterns = []
