# Before another version is laid in place. A record that a newer version wrote is not given to this one; one whose schema this version will
# bring forward is copied first, by the version that is there, so that there is a way back.
record=/var/lib/rootcellar/rootcellar.db

# The schema of the record: SQLite keeps it as the four bytes from the 60th on (sqlite.org/fileformat2.html, "user version").
record_schema() {
    # shellcheck disable=SC2046 # Four numbers, four words.
    set -- $(od -An -N4 -j60 -tu1 "$record")
    echo $((($1 * 256 + $2) * 65536 + $3 * 256 + $4))
}

guard_record() {
    [ -s "$record" ] || return 0
    has=$(record_schema)
    if [ "$has" -gt "$knows" ]; then
        cat >&2 <<END
rootcellar $version is not installed; nothing was changed.
The record $record has schema $has, and this version knows up to $knows: a newer version wrote it. Install that one again.
To go back on purpose, put back a copy from before the upgrade first: "The way back" in the guide upgrading.md.
END
        return 1
    fi
    [ "$has" -lt "$knows" ] || return 0
    command -v rootcellar >/dev/null || return 0
    copy=$record.schema$has
    [ ! -e "$copy" ] || return 0
    if rootcellar backup "$copy" --data /var/lib/rootcellar; then
        chown --reference="$record" "$copy"
        return 0
    fi
    rm -f "$copy"
    [ "${ROOTCELLAR_WITHOUT_COPY:-}" != 1 ] || return 0
    cat >&2 <<END
rootcellar $version is not installed; nothing was changed.
It would bring the record from schema $has to $knows, and no copy of it could be made before (see above): without one there is no way back.
Make room in /var/lib/rootcellar and install again, or install without a copy: ROOTCELLAR_WITHOUT_COPY=1 in the environment.
END
    return 1
}
