#!/usr/bin/env bash
# Every check of the project, from a clean clone: pip install uv && bash tests/run.sh
# Installs what it needs where it may (Debian and Ubuntu, as root or with sudo); elsewhere it says what is missing.
# LAMPSTEAD_BROWSER names a Chromium to use instead of the one that is found.

set -uo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.." || exit 1
exec </dev/null
# Checks do not hear the settings of the shell that starts them.
unset DATABASE_URL DATA_DIR RECORD_KEY SITE_ADDRESS WORKER_BESIDE SECRET_KEY ALLOWED_HOSTS HTTPS TRUST_PROXY DEBUG EMAIL_URL EMAIL_FROM DATABASE_POOL
unset DJANGO_SETTINGS_MODULE LAMPSTEAD_TEST_DATABASE LAMPSTEAD_TEST_FOLDER LAMPSTEAD_TEST_URL VIRTUAL_ENV
export PYTHONUNBUFFERED=1 UV_NO_PROGRESS=1

scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
names=() marks=() times=()
bad=0

step() { # step NAME COMMAND...: run a check, note how it ended, go on with the next
  local name=$1 began=$SECONDS mark=done
  shift
  printf '\n== %s\n' "$name"
  "$@" || { mark=BROKEN bad=1; }
  names+=("$name") marks+=("$mark") times+=("$((SECONDS - began))")
}

summary() {
  printf '\n== Summary\n'
  for at in "${!names[@]}"; do printf '%-8s %4s s  %s\n' "${marks[$at]}" "${times[$at]}" "${names[$at]}"; done
  if ((bad)); then printf 'Some checks are broken.\n'; else printf 'All %s checks are done, nothing is broken.\n' "${#names[@]}"; fi
}

as_root() {
  if [ "$(id -u)" = 0 ]; then "$@"; elif command -v sudo >/dev/null && sudo -n true 2>/dev/null; then sudo -n "$@"; else return 1; fi
}

uv=(uv)
command -v uv >/dev/null || uv=(python3 -m uv)
"${uv[@]}" --version >/dev/null 2>&1 || { echo "uv is missing. Get it with: pip install uv"; exit 1; }

# ---- what the system must give

browser() {
  local found
  for found in "${LAMPSTEAD_BROWSER:-}" chromium chromium-browser google-chrome; do
    # A package of some systems is a stub that only names another store: it must start.
    if [ -n "$found" ] && command -v "$found" >/dev/null && "$found" --version >/dev/null 2>&1; then command -v "$found" && return; fi
  done
  return 1
}

pango() { # the libraries that WeasyPrint loads by name
  .venv/bin/python -c 'import ctypes.util, sys
wanted = ("gobject-2.0", "pango-1.0", "pangoft2-1.0", "harfbuzz", "fontconfig")
sys.exit(" ".join(each for each in wanted if not ctypes.util.find_library(each)) or 0)'
}

# python3-minimal systems have no font at all; paper needs none of theirs, WeasyPrint needs fontconfig to find ours.
packages=(libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz0b libharfbuzz-subset0 fontconfig)

system() {
  local need=()
  browser >/dev/null || need+=(chromium)
  pango 2>/dev/null || need+=("${packages[@]}")
  if ((${#need[@]})) && command -v apt-get >/dev/null; then
    as_root apt-get update -q -o Acquire::Retries=2 >/dev/null
    for each in "${need[@]}"; do
      as_root env DEBIAN_FRONTEND=noninteractive apt-get install -q -y --no-install-recommends "$each" >"$scratch/apt" 2>&1 ||
        { tail -3 "$scratch/apt"; echo "$each could not be installed."; }
    done
  fi
  if ! browser >/dev/null; then
    # Where the system has no Chromium of its own, the one that Playwright brings.
    as_root .venv/bin/playwright install-deps chromium >/dev/null 2>&1
    .venv/bin/playwright install chromium >"$scratch/browser" 2>&1 &&
      LAMPSTEAD_BROWSER=$(.venv/bin/python -c 'from playwright.sync_api import sync_playwright as s
with s() as p: print(p.chromium.executable_path)')
  fi
  local missing=0
  LAMPSTEAD_BROWSER=$(browser) && export LAMPSTEAD_BROWSER && echo "Browser: $LAMPSTEAD_BROWSER" || {
    missing=1
    echo "Chromium is missing. Debian: apt-get install chromium. Elsewhere: install Chromium, then set LAMPSTEAD_BROWSER to its path."
  }
  pango || {
    missing=1
    echo "The libraries above are missing. Debian, Ubuntu: apt-get install ${packages[*]}. Fedora: dnf install pango. macOS: brew install pango."
  }
  return "$missing"
}

# ---- the checks

bin=.venv/bin
workers=$(nproc 2>/dev/null || echo 2)
((workers > 4)) && workers=4

deploy() { # as where real records are kept
  env DATA_DIR="$scratch/data" SECRET_KEY="$($bin/python -c 'import secrets; print(secrets.token_urlsafe(64))')" HTTPS=yes \
    ALLOWED_HOSTS=lampstead.example.org TRUST_PROXY=yes "$@"
}

suite() { # suite DATABASE EXPRESSION [OPTIONS]
  local database=$1 expression=$2
  shift 2
  # Neighbours stay with one worker, so that what the factories of one have written is there for the next.
  LAMPSTEAD_TEST_DATABASE=$database $bin/pytest -q -n "$workers" --dist worksteal -m "$expression" "$@"
}

step "Packages" "${uv[@]}" sync --quiet --group test
[ -x $bin/pytest ] || { summary; exit 1; }
step "Browser and libraries" system
step "Rules of code (ruff check)" $bin/ruff check --quiet .
step "Format of code (ruff format)" $bin/ruff format --quiet --check .
step "Types (mypy)" $bin/mypy apps
step "Layers (import-linter)" $bin/lint-imports
step "Templates (djlint)" $bin/djlint --lint --quiet templates apps
step "Migrations match models" deploy $bin/python manage.py makemigrations --check --dry-run
step "Settings for real records (check --deploy)" deploy $bin/python manage.py check --deploy --fail-level WARNING
step "Static files (collectstatic)" deploy $bin/python manage.py collectstatic --noinput --verbosity 0
step "Tests without a database" suite sqlite "not database and not browser"
step "Tests on SQLite" suite sqlite "database and not browser"
step "Tests on PostgreSQL" suite postgresql "database and not browser and not once"
step "Tests in the browser" suite sqlite browser
summary
exit "$bad"
