import { z } from 'zod';

/** The page's content policy forbids compiling code from text, which zod tries for speed as soon as a schema is made: imported first. */
z.config({ jitless: true });
