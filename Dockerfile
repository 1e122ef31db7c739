# Debian slim: one of the wheels is not made for musl.
FROM python:3.13-slim-trixie AS build
RUN python -m venv /opt/venv
COPY requirements/app.txt /tmp/app.txt
RUN /opt/venv/bin/pip install --no-cache-dir --disable-pip-version-check \
        --require-hashes --no-deps --only-binary :all: -r /tmp/app.txt

FROM python:3.13-slim-trixie
RUN apt-get update \
    && apt-get install -y --no-install-recommends libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 postgresql-client \
    && rm -rf /var/lib/apt/lists/* \
    && useradd --uid 10001 --no-create-home --shell /usr/sbin/nologin axlebook \
    && install -d -o axlebook -g axlebook /data /keys
COPY --from=build /opt/venv /opt/venv
WORKDIR /app
COPY manage.py pyproject.toml ./
COPY templates templates
COPY shop shop
COPY measurements measurements
COPY builds builds
ENV PATH=/opt/venv/bin:$PATH \
    PYTHONUNBUFFERED=1 \
    PYTHONDONTWRITEBYTECODE=1 \
    HOME=/tmp \
    DJANGO_SETTINGS_MODULE=shop.settings \
    AXLEBOOK_NO_SETUP=1 \
    AXLEBOOK_DATA=/data \
    AXLEBOOK_KEYS=/keys \
    AXLEBOOK_STATIC=/app/static
# Collecting needs settings but no secret: these values live in this one step only.
RUN AXLEBOOK_SECRET_KEY=collecting AXLEBOOK_SHOP_NAME=collecting AXLEBOOK_TIME_ZONE=UTC \
    AXLEBOOK_VERIFY_ADDRESS=collecting AXLEBOOK_HOSTS=collecting AXLEBOOK_SERIAL_PREFIX=AXL \
    python manage.py collectstatic --no-input --verbosity 0 \
    && python -m compileall -q shop measurements builds
USER 10001:10001
EXPOSE 8000
HEALTHCHECK --interval=30s --timeout=5s --start-period=20s CMD ["python", "manage.py", "health"]
CMD ["gunicorn", "shop.wsgi", "--bind", "0.0.0.0:8000", "--worker-class", "gthread", "--workers", "2", "--threads", "4", "--worker-tmp-dir", "/dev/shm", "--graceful-timeout", "20", "--timeout", "60", "--keep-alive", "30", "--no-control-socket"]
