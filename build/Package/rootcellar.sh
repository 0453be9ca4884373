#!/bin/sh
# The installed program: the data folder is that of the service, unless --data names another.
export STATE_DIRECTORY="${STATE_DIRECTORY:-/var/lib/rootcellar}"
exec @PREFIX@/lib/rootcellar/rootcellar "$@"
