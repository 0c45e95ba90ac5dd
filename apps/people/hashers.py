"""Password hashing sized for a small machine."""

from django.contrib.auth.hashers import Argon2PasswordHasher


class Argon2Hasher(Argon2PasswordHasher):
    """Argon2id with 19 MiB, two passes, one lane (OWASP Password Storage Cheat Sheet): twenty sign-ins at once still fit in memory."""

    time_cost = 2
    memory_cost = 19 * 1024
    parallelism = 1
