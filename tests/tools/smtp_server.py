# smtp_server.py DIRECTORY: keeps each message as DIRECTORY/N, its envelope as DIRECTORY/N.to.
# What is to happen to the next one stands in DIRECTORY/mood.
import asyncio, os, sys
from aiosmtpd.smtp import SMTP

class Keep:
    n = 0
    async def handle_DATA(self, server, session, envelope):
        mood = open(sys.argv[1] + '/mood').read().strip()
        if mood == 'refuse':
            return '554 no'
        if mood == 'later':
            return '451 come again'
        if mood == 'slow':
            await asyncio.sleep(3)
            return '451 too late'
        if mood == 'hang up':
            server.transport.abort()
            return '250 never heard'
        self.n += 1
        with open('%s/%d' % (sys.argv[1], self.n), 'wb') as f:
            f.write(envelope.original_content)
        with open('%s/%d.to' % (sys.argv[1], self.n), 'w') as f:
            print(envelope.mail_from, *envelope.rcpt_tos, file=f)
        return '250 kept'

async def main():
    loop = asyncio.get_running_loop()
    keep = Keep()
    server = await loop.create_server(lambda: SMTP(keep, hostname='localhost'), '127.0.0.1', 0)
    with open(sys.argv[1] + '/port.new', 'w') as f:
        print(server.sockets[0].getsockname()[1], file=f)
    os.rename(sys.argv[1] + '/port.new', sys.argv[1] + '/port')
    for _ in range(600): # a minute at most
        if os.path.exists(sys.argv[1] + '/stop'):
            break
        await asyncio.sleep(0.1)
    server.close()

asyncio.run(main())
