"""What gunicorn serves: `gunicorn turnery.wsgi`."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "turnery.settings")

application = get_wsgi_application()
