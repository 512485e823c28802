# Makes a PostgreSQL cluster of its own, says where its socket is, and keeps it until the program that
# started this ends, however it ends: then its end of the pipe closes. $1: the folder of the programs.
set -eu
umask 077
dir=$(mktemp -d -t stonewear-cluster-XXXXXX)
server=
finish() {
    if [ -n "$server" ]; then kill -QUIT "$server" 2>/dev/null || true; wait "$server" 2>/dev/null || true; fi
    rm -rf "$dir"
}
trap finish EXIT
trap 'exit 1' INT TERM
cd "$dir"
"$1/initdb" --pgdata=data --username=owner_of_all --auth=trust --no-sync --encoding=UTF8 --locale=C >initdb.log 2>&1 ||
    { cat initdb.log >&2; exit 1; }
# Here rather than as arguments, so that a test can set something else.
printf '%s\n' "listen_addresses = ''" "unix_socket_directories = '$dir'" 'max_connections = 200' \
    'shared_buffers = 32MB' >>data/postgresql.conf
start() {
    "$1/postgres" -D data >server.log 2>&1 &
    server=$!
    tries=0
    port=$("$1/postgres" -D data -C port)
    until "$1/pg_isready" --quiet --host="$dir" --port="$port"; do
        tries=$((tries + 1))
        if [ "$tries" -gt 300 ] || ! kill -0 "$server" 2>/dev/null; then cat server.log >&2; exit 1; fi
        sleep 0.1
    done
}
start "$1"
echo "$dir"
# A line asks for the server to be stopped, as in a crash, and started again.
while read -r asked; do
    if [ "$asked" = restart ]; then
        kill -QUIT "$server"; wait "$server" 2>/dev/null || true
        start "$1"
        echo restarted
    elif [ "$asked" = stop ]; then
        kill -QUIT "$server"; wait "$server" 2>/dev/null || true; server=
        echo stopped
    elif [ "$asked" = start ]; then
        start "$1"
        echo started
    fi
done
