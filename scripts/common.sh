# shellcheck shell=bash
# What scripts/demo and scripts/test share. Source it with the repository root as the folder.
# Sets `jobs`; keeps the timing of the stages for the summary at the end.

. scripts/packages

readonly exit_unmet=3 # the machine lacks something that the script may not or cannot install
jobs=$(getconf _NPROCESSORS_ONLN 2>/dev/null || echo 2)

die() # CODE MESSAGE...
{
  local code=$1
  shift
  printf '%s: %s\n' "$0" "$*" >&2
  exit "$code"
}

# --- stages ---------------------------------------------------------------------------------

stage_names=()
stage_results=()
current_stage=""

# Runs a command under a heading and keeps its time. A failure ends the script.
stage() # NAME COMMAND...
{
  current_stage=$1
  shift
  local start=$SECONDS
  printf '\n==> %s\n' "$current_stage"
  "$@"
  printf -- '--- %s: done in %d s\n' "$current_stage" $((SECONDS - start))
  stage_names+=("$current_stage")
  stage_results+=("done, $((SECONDS - start)) s")
  current_stage=""
}

# To be set as the EXIT trap: what ran, how long, and how it ended.
summary()
{
  local code=$? i
  if [ "$code" -ne 0 ] && [ -n "$current_stage" ]; then
    stage_names+=("$current_stage")
    stage_results+=("FAILED (exit code $code)")
  fi
  printf '\n%s: summary\n' "$0"
  for i in "${!stage_names[@]}"; do
    printf '  %-44s %s\n' "${stage_names[$i]}" "${stage_results[$i]}"
  done
  if [ "$code" -eq 0 ]; then
    printf '  all done in %d s\n' "$SECONDS"
  else
    printf '  stopped after %d s, exit code %d\n' "$SECONDS" "$code"
  fi
}

# --- packages -------------------------------------------------------------------------------

is_debian()
{
  [ -f /etc/debian_version ] && command -v apt-get >/dev/null && command -v dpkg-query >/dev/null
}

# Those of the packages named that dpkg does not have installed.
missing_packages() # PACKAGE...
{
  local package status
  for package in "$@"; do
    status=$(dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null || true)
    [ "$status" = installed ] || printf '%s\n' "$package"
  done
}

install_packages() # PACKAGE...
{
  local -a as_root=()
  if [ "$(id -u)" -ne 0 ]; then
    command -v sudo >/dev/null ||
      die "$exit_unmet" "missing packages, and neither root nor sudo to install them: $*"
    as_root=(sudo)
  fi
  "${as_root[@]}" apt-get update
  "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive \
    apt-get install -y --no-install-recommends "$@"
}

has_requirement() # KIND NAME
{
  case $1 in
    command) command -v "$2" >/dev/null ;;
    pkg) pkg-config --exists "$2" 2>/dev/null ;;
    header) printf '#include <%s>\n' "$2" | g++ -std=c++20 -E -x c++ - >/dev/null 2>&1 ;;
    module) /usr/bin/python3 -c "import $2" >/dev/null 2>&1 ;;
    *) die 1 "scripts/packages: unknown kind of requirement '$1'" ;;
  esac
}

# The requirements that are not met, one a line.
missing_requirements()
{
  local kind name package
  while read -r kind name package; do
    has_requirement "$kind" "$name" ||
      printf '%s %s (Debian package %s)\n' "$kind" "$name" "$package"
  done < <(torsowave_requirements)
}

# Installs what is missing on Debian; elsewhere, or without leave to install, names it and stops.
require_packages() # yes|no (may install) PACKAGE...
{
  local may_install=$1 missing
  shift
  if ! is_debian; then
    missing=$(missing_requirements)
    [ -z "$missing" ] && return
    printf '%s\n' "$missing" >&2
    die "$exit_unmet" "this is not Debian: please install what is listed above, then run again"
  fi
  missing=$(missing_packages "$@")
  if [ -z "$missing" ]; then
    echo "nothing to install"
  elif [ "$may_install" = yes ]; then
    # shellcheck disable=SC2086  # one word for each package
    install_packages $missing
  else
    die "$exit_unmet" "missing packages: ${missing//$'\n'/ }; install them or allow it here"
  fi
}

configure_and_build() # PRESET [TARGET...]
{
  local preset=$1
  shift
  cmake --preset "$preset"
  cmake --build --preset "$preset" --parallel "$jobs" ${1:+--target "$@"}
}
