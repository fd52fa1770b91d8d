"""What of this room is erased by itself."""

from clients.desk.actions import sweep_files
from studio.shop.doctor import each_night

each_night(sweep_files)
