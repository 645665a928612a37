"""All commands, a row each: what it works out, and where its text, JSON and figure are made.

Another command is another row, with its ``work``, in one of these files.
"""

from balltravel.cli.command import Command
from balltravel.cli.commands.bench import BENCH
from balltravel.cli.commands.laws import LAWS
from balltravel.cli.commands.lower import LOWER
from balltravel.cli.commands.many import MANY
from balltravel.cli.commands.new import NEW
from balltravel.cli.commands.site import SITE
from balltravel.cli.commands.teach import TEACH

COMMANDS: tuple[Command, ...] = (NEW, *LOWER, *LAWS, *SITE, *BENCH, *MANY, *TEACH)
"""In the order of ``balltravel --help``."""
