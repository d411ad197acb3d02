"""The site generator's plugin."""

from engine_pages.one_thread import count_with_one_thread

count_with_one_thread()  # here, for the generator loads this room before any that counts
