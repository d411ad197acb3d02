"""How the whole suite is run: by as many processes as there are cores, with one thread in each."""

from engine_pages.one_thread import count_with_one_thread

count_with_one_thread()
