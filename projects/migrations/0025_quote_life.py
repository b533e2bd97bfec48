"""The life of a quote: what happened to it, its options, sign-offs, change orders, papers and payments."""

import django.core.validators
import django.db.models.deletion
import django.utils.timezone
import projects.models.agreements
import projects.models.fields
import projects.models.quote_life
from decimal import Decimal
from django.db import migrations, models


def lay_out_papers(apps, schema_editor):
    """Give every studio that there is the usual terms of papers."""
    defaults = apps.get_model("projects", "PaperDefaults")
    for studio in apps.get_model("projects", "Studio").objects.all():
        defaults.objects.get_or_create(studio=studio)


class Migration(migrations.Migration):

    dependencies = [
        ('projects', '0024_price_rest'),
    ]

    operations = [
        migrations.CreateModel(
            name='ChangeOrder',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('asked_at', models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ('text', models.TextField(editable=False)),
                ('sha256', models.CharField(editable=False, max_length=64)),
                ('answer', models.CharField(choices=[('waiting', 'waiting'), ('agreed', 'agreed'), ('refused', 'refused'), ('withdrawn', 'withdrawn')], default='waiting', editable=False, max_length=9)),
                ('answered_at', models.DateTimeField(editable=False, null=True)),
                ('answered_name', models.CharField(blank=True, editable=False, max_length=120)),
                ('answered_words', models.TextField(blank=True, editable=False, max_length=4000)),
                ('number', models.PositiveSmallIntegerField()),
                ('title', models.CharField(max_length=160, verbose_name='the change')),
                ('words', models.TextField(blank=True, max_length=4000, verbose_name='what changes')),
                ('base', projects.models.fields.TidyDecimalField(decimal_places=4, max_digits=14, verbose_name='before tax')),
                ('tax', projects.models.fields.TidyDecimalField(decimal_places=4, max_digits=14, verbose_name='tax')),
                ('amount', projects.models.fields.TidyDecimalField(decimal_places=4, max_digits=14, verbose_name='with tax')),
                ('days', models.SmallIntegerField(default=0, validators=[django.core.validators.MinValueValidator(-365), django.core.validators.MaxValueValidator(365)], verbose_name='days later')),
                ('valid_until', models.DateField()),
                ('sheet', models.JSONField(default=dict, editable=False)),
                ('estimate', models.JSONField(default=dict, editable=False)),
                ('drawing', models.TextField(blank=True, editable=False)),
            ],
            options={
                'ordering': ['number'],
            },
        ),
        migrations.CreateModel(
            name='ClientLink',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('nonce', models.CharField(default=projects.models.quote_life._nonce, editable=False, max_length=64, unique=True)),
                ('token_hash', models.CharField(editable=False, max_length=64, unique=True)),
                ('expires_on', models.DateField(help_text='The last day on which it opens.')),
                ('created_at', models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ('revoked_at', models.DateTimeField(blank=True, editable=False, null=True)),
                ('last_seen_at', models.DateTimeField(blank=True, editable=False, null=True)),
            ],
            options={
                'ordering': ['-created_at', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='IssuedPaper',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('confirmation', 'order confirmation'), ('deposit', 'deposit request'), ('stage', 'payment request'), ('balance', 'balance request'), ('delivery', 'delivery note'), ('credit', 'credit note')], max_length=12)),
                ('number', models.CharField(max_length=24)),
                ('stage', models.PositiveSmallIntegerField(blank=True, help_text='Which of the payments, from 1.', null=True)),
                ('issued_on', models.DateField()),
                ('issued_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('due_on', models.DateField(blank=True, null=True)),
                ('is_invoice', models.BooleanField(default=False)),
                ('base', projects.models.fields.TidyDecimalField(blank=True, decimal_places=4, max_digits=14, null=True, verbose_name='before tax')),
                ('tax', projects.models.fields.TidyDecimalField(blank=True, decimal_places=4, max_digits=14, null=True, verbose_name='tax')),
                ('amount', projects.models.fields.TidyDecimalField(blank=True, decimal_places=4, max_digits=14, null=True, verbose_name='in all')),
                ('content', models.JSONField(default=dict)),
                ('pdf', models.BinaryField(default=b'')),
                ('sha256', models.CharField(blank=True, max_length=64)),
            ],
            options={
                'ordering': ['-issued_at', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='Letter',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('to', models.EmailField(max_length=254)),
                ('subject', models.CharField(max_length=200)),
                ('body', models.TextField()),
                ('attachments', models.JSONField(default=list, help_text='Papers that go with it: {kind, id}.')),
                ('state', models.CharField(choices=[('waiting', 'waiting'), ('sent', 'sent'), ('failed', 'not sent')], default='waiting', max_length=7)),
                ('written_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('sent_at', models.DateTimeField(blank=True, null=True)),
                ('trouble', models.CharField(blank=True, max_length=300)),
            ],
            options={
                'ordering': ['-written_at', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='PaperDefaults',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('title_passes', models.CharField(choices=[('paid', 'when it is paid in full'), ('delivered', 'when it is delivered')], default='paid', max_length=9, verbose_name="becomes the buyer's")),
                ('risk_passes', models.CharField(choices=[('delivered', 'when it is delivered'), ('handed_over', 'when it is handed to the carrier')], default='delivered', max_length=11, verbose_name='risk passes')),
                ('report_days', models.PositiveSmallIntegerField(default=3, help_text='After it arrives. Common practice, no source.', validators=[django.core.validators.MaxValueValidator(365)], verbose_name='days to report damage')),
                ('return_days', models.PositiveSmallIntegerField(default=0, help_text='0: a piece made to order is not taken back. Rights that the law gives a buyer stay.', validators=[django.core.validators.MaxValueValidator(365)], verbose_name='days to return it')),
                ('warranty_months', models.PositiveSmallIntegerField(default=12, help_text='0: no warranty is printed. Common practice, no source.', validators=[django.core.validators.MaxValueValidator(600)], verbose_name='joints warranted (months)')),
                ('warranty_humidity_low', models.PositiveSmallIntegerField(default=40, validators=[django.core.validators.MaxValueValidator(100)], verbose_name='in rooms from (%)')),
                ('warranty_humidity_high', models.PositiveSmallIntegerField(default=55, validators=[django.core.validators.MinValueValidator(1), django.core.validators.MaxValueValidator(100)], verbose_name='to (%)')),
                ('repairs', models.CharField(blank=True, help_text='Such as: the studio mends a joint at its own cost in that time.', max_length=300)),
                ('signature', models.CharField(blank=True, help_text='Such as: signed, numbered and dated under the foot.', max_length=200)),
                ('copyright_words', models.CharField(blank=True, help_text='Such as: design and copyright stay with the studio.', max_length=300, verbose_name='copyright')),
            ],
            options={
                'verbose_name_plural': 'paper defaults',
            },
        ),
        migrations.CreateModel(
            name='PaperSeries',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('confirmation', 'order confirmation'), ('deposit', 'deposit request'), ('stage', 'payment request'), ('balance', 'balance request'), ('delivery', 'delivery note'), ('credit', 'credit note')], max_length=12)),
                ('year', models.PositiveSmallIntegerField(default=0)),
                ('count', models.PositiveIntegerField(default=0)),
            ],
            options={
                'verbose_name_plural': 'paper series',
                'ordering': ['kind'],
            },
        ),
        migrations.CreateModel(
            name='Payment',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('way', models.CharField(choices=[('in', 'received'), ('back', 'paid back')], default='in', max_length=4, verbose_name='which way')),
                ('amount', projects.models.fields.TidyDecimalField(decimal_places=4, max_digits=14, validators=[django.core.validators.MinValueValidator(Decimal('0.0001'), message='Must be at least %(limit_value)s.')], verbose_name='amount')),
                ('paid_on', models.DateField(default=django.utils.timezone.localdate, verbose_name='on')),
                ('by', models.CharField(choices=[('transfer', 'bank transfer'), ('card', 'card'), ('cheque', 'cheque'), ('cash', 'cash'), ('gallery', 'through the gallery'), ('other', 'otherwise')], default='transfer', max_length=8, verbose_name='how')),
                ('reference', models.CharField(blank=True, max_length=80)),
                ('note', models.CharField(blank=True, max_length=200)),
                ('taken_at', models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ('struck_at', models.DateTimeField(editable=False, null=True)),
                ('struck_why', models.CharField(blank=True, editable=False, max_length=200)),
            ],
            options={
                'ordering': ['paid_on', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='QuoteEvent',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('what', models.CharField(choices=[('sent', 'sent'), ('seen', 'seen'), ('asked', 'asked'), ('answered', 'answered'), ('accepted', 'accepted'), ('declined', 'declined'), ('withdrawn', 'withdrawn')], max_length=9)),
                ('at', models.DateTimeField(default=django.utils.timezone.now)),
                ('name', models.CharField(blank=True, max_length=120)),
                ('words', models.TextField(blank=True, max_length=4000)),
                ('text', models.TextField(blank=True)),
                ('sha256', models.CharField(blank=True, max_length=64)),
            ],
            options={
                'ordering': ['at', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='QuoteOption',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveSmallIntegerField()),
                ('title', models.CharField(max_length=120)),
                ('choice', models.JSONField(default=dict)),
                ('says', models.JSONField(default=list, editable=False)),
                ('sheet', models.JSONField(default=dict, editable=False)),
                ('estimate', models.JSONField(default=dict, editable=False)),
                ('drawing', models.TextField(blank=True, editable=False)),
                ('species', models.JSONField(default=list, editable=False)),
                ('finish', models.JSONField(default=dict, editable=False)),
            ],
            options={
                'ordering': ['position'],
            },
        ),
        migrations.CreateModel(
            name='SignOff',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('asked_at', models.DateTimeField(default=django.utils.timezone.now, editable=False)),
                ('text', models.TextField(editable=False)),
                ('sha256', models.CharField(editable=False, max_length=64)),
                ('answer', models.CharField(choices=[('waiting', 'waiting'), ('agreed', 'agreed'), ('refused', 'refused'), ('withdrawn', 'withdrawn')], default='waiting', editable=False, max_length=9)),
                ('answered_at', models.DateTimeField(editable=False, null=True)),
                ('answered_name', models.CharField(blank=True, editable=False, max_length=120)),
                ('answered_words', models.TextField(blank=True, editable=False, max_length=4000)),
                ('kind', models.CharField(choices=[('drawing', 'drawing'), ('chip', 'colour chip'), ('ring', 'sample ring')], max_length=7)),
                ('words', models.TextField(blank=True, max_length=4000, verbose_name='what it shows')),
                ('photo', models.FileField(blank=True, max_length=120, upload_to=projects.models.agreements.sample_path)),
                ('sheet', models.JSONField(default=dict, editable=False)),
                ('drawing', models.TextField(blank=True, editable=False)),
            ],
            options={
                'ordering': ['-asked_at', '-pk'],
            },
        ),
        migrations.AddField(
            model_name='client',
            name='legal_name',
            field=models.CharField(blank=True, help_text='Where it is not the name above.', max_length=160),
        ),
        migrations.AddField(
            model_name='client',
            name='payment_days',
            field=models.PositiveSmallIntegerField(blank=True, help_text='Empty: as the studio asks.', null=True, validators=[django.core.validators.MaxValueValidator(365)], verbose_name='days to pay'),
        ),
        migrations.AddField(
            model_name='client',
            name='tax_number',
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AddField(
            model_name='client',
            name='tax_status',
            field=models.CharField(choices=[('usual', 'as usual'), ('reverse', 'none: the client accounts for it (reverse charge)'), ('export', 'none: the piece leaves the country (export)'), ('exempt', 'none: the client is exempt')], default='usual', help_text='What is due, and when none is, depends on the law of both places: ask an adviser.', max_length=7, verbose_name='tax'),
        ),
        migrations.AddField(
            model_name='commission',
            name='deposit_via',
            field=models.CharField(choices=[('direct', 'paid to the studio'), ('gallery_whole', 'paid to the gallery, which passes it on whole'), ('gallery_less', 'paid to the gallery, which passes it on less its share')], default='direct', max_length=13, verbose_name='how the deposit is paid'),
        ),
        migrations.AddField(
            model_name='commission',
            name='edition',
            field=models.CharField(blank=True, choices=[('', 'not said'), ('unique', 'unique: not made again'), ('series', 'one of a series')], default='', max_length=6),
        ),
        migrations.AddField(
            model_name='commission',
            name='edition_number',
            field=models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='number in the series'),
        ),
        migrations.AddField(
            model_name='commission',
            name='edition_size',
            field=models.PositiveSmallIntegerField(blank=True, null=True, verbose_name='pieces in the series'),
        ),
        migrations.AddField(
            model_name='commission',
            name='insured_value',
            field=projects.models.fields.TidyDecimalField(blank=True, decimal_places=4, help_text='Empty: what is paid to you for it, before tax.', max_digits=14, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0'), message='Must be at least %(limit_value)s.')], verbose_name='insured for'),
        ),
        migrations.AddField(
            model_name='commission',
            name='ready_from',
            field=models.DateField(blank=True, help_text="The window's first day.", null=True, verbose_name='ready from'),
        ),
        migrations.AddField(
            model_name='commission',
            name='ready_to',
            field=models.DateField(blank=True, help_text='And its last.', null=True, verbose_name='ready by'),
        ),
        migrations.AddField(
            model_name='commission',
            name='ships',
            field=models.CharField(choices=[('studio', 'the studio sends it'), ('gallery', 'the gallery sends for it'), ('client', 'the client fetches it')], default='studio', max_length=7, verbose_name='who sends it'),
        ),
        migrations.AddField(
            model_name='studio',
            name='bank_details',
            field=models.TextField(blank=True, help_text='Printed on every request, one line a row.'),
        ),
        migrations.AddField(
            model_name='studio',
            name='company_number',
            field=models.CharField(blank=True, help_text='And the register, where asked for.', max_length=60),
        ),
        migrations.AddField(
            model_name='studio',
            name='legal_name',
            field=models.CharField(blank=True, help_text="As registered, where it is not the studio's name.", max_length=160),
        ),
        migrations.AddField(
            model_name='studio',
            name='payment_days',
            field=models.PositiveSmallIntegerField(default=14, help_text="From a request's date.", validators=[django.core.validators.MaxValueValidator(365)], verbose_name='days to pay'),
        ),
        migrations.AddField(
            model_name='studio',
            name='sends_invoices',
            field=models.BooleanField(default=False, help_text='They need your tax number then. Otherwise they say that they are none.', verbose_name='requests for money are tax invoices'),
        ),
        migrations.AddField(
            model_name='studio',
            name='tax_note',
            field=models.CharField(blank=True, help_text='Printed where no tax is charged, such as the rule it goes by.', max_length=200),
        ),
        migrations.AddField(
            model_name='studio',
            name='tax_status',
            field=models.CharField(choices=[('charged', 'charged at the rate of its prices'), ('none', 'not charged: the studio is not registered for it')], default='charged', max_length=7, verbose_name='tax'),
        ),
        migrations.AddConstraint(
            model_name='client',
            constraint=models.CheckConstraint(condition=models.Q(('tax_status__in', ['usual', 'reverse', 'export', 'exempt'])), name='client_tax_status_known', violation_error_message='The tax status must be one of: usual, reverse, export, exempt.'),
        ),
        migrations.AddConstraint(
            model_name='client',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('payment_days__gte', Decimal('0')), ('payment_days__lte', Decimal('365'))), ('payment_days__isnull', True), _connector='OR'), name='client_payment_days_in_range', violation_error_message='The payment days must be from 0 to 365.'),
        ),
        migrations.AddConstraint(
            model_name='commission',
            constraint=models.CheckConstraint(condition=models.Q(('ships__in', ['studio', 'gallery', 'client'])), name='commission_ships_known', violation_error_message='The ships must be one of: studio, gallery, client.'),
        ),
        migrations.AddConstraint(
            model_name='commission',
            constraint=models.CheckConstraint(condition=models.Q(('edition__in', ['', 'unique', 'series'])), name='commission_edition_known', violation_error_message='The edition must be blank or one of: unique, series.'),
        ),
        migrations.AddConstraint(
            model_name='commission',
            constraint=models.CheckConstraint(condition=models.Q(('deposit_via__in', ['direct', 'gallery_whole', 'gallery_less'])), name='commission_deposit_via_known', violation_error_message='The deposit via must be one of: direct, gallery_whole, gallery_less.'),
        ),
        migrations.AddConstraint(
            model_name='commission',
            constraint=models.CheckConstraint(condition=models.Q(('insured_value__gte', Decimal('0')), ('insured_value__isnull', True), _connector='OR'), name='commission_insured_value_in_range', violation_error_message='The insured value must be at least 0.'),
        ),
        migrations.AddConstraint(
            model_name='studio',
            constraint=models.CheckConstraint(condition=models.Q(('tax_status__in', ['charged', 'none'])), name='studio_tax_status_known', violation_error_message='The tax status must be one of: charged, none.'),
        ),
        migrations.AddConstraint(
            model_name='studio',
            constraint=models.CheckConstraint(condition=models.Q(('payment_days__gte', Decimal('0')), ('payment_days__lte', Decimal('365'))), name='studio_payment_days_in_range', violation_error_message='The payment days must be from 0 to 365.'),
        ),
        migrations.AddField(
            model_name='changeorder',
            name='answered_by',
            field=models.ForeignKey(editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='projects.member'),
        ),
        migrations.AddField(
            model_name='changeorder',
            name='asked_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='projects.member'),
        ),
        migrations.AddField(
            model_name='changeorder',
            name='commission',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='change_orders', to='projects.commission'),
        ),
        migrations.AddField(
            model_name='changeorder',
            name='quote',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='change_orders', to='projects.quote'),
        ),
        migrations.AddField(
            model_name='changeorder',
            name='studio',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='change_orders', to='projects.studio'),
        ),
        migrations.AddField(
            model_name='clientlink',
            name='commission',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='links', to='projects.commission'),
        ),
        migrations.AddField(
            model_name='clientlink',
            name='created_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='projects.member'),
        ),
        migrations.AddField(
            model_name='clientlink',
            name='studio',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='client_links', to='projects.studio'),
        ),
        migrations.AddField(
            model_name='changeorder',
            name='answered_by_link',
            field=models.ForeignKey(editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='projects.clientlink'),
        ),
        migrations.AddField(
            model_name='issuedpaper',
            name='change',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='papers', to='projects.changeorder'),
        ),
        migrations.AddField(
            model_name='issuedpaper',
            name='commission',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='papers', to='projects.commission'),
        ),
        migrations.AddField(
            model_name='issuedpaper',
            name='corrects',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='corrections', to='projects.issuedpaper'),
        ),
        migrations.AddField(
            model_name='issuedpaper',
            name='issued_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='projects.member'),
        ),
        migrations.AddField(
            model_name='issuedpaper',
            name='quote',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='papers', to='projects.quote'),
        ),
        migrations.AddField(
            model_name='issuedpaper',
            name='studio',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='papers', to='projects.studio'),
        ),
        migrations.AddField(
            model_name='letter',
            name='commission',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='letters', to='projects.commission'),
        ),
        migrations.AddField(
            model_name='letter',
            name='studio',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='letters', to='projects.studio'),
        ),
        migrations.AddField(
            model_name='letter',
            name='written_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='projects.member'),
        ),
        migrations.AddField(
            model_name='paperdefaults',
            name='studio',
            field=models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='paper_defaults', to='projects.studio'),
        ),
        migrations.AddField(
            model_name='paperseries',
            name='studio',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='paper_series', to='projects.studio'),
        ),
        migrations.AddField(
            model_name='payment',
            name='commission',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='payments', to='projects.commission'),
        ),
        migrations.AddField(
            model_name='payment',
            name='member',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='projects.member'),
        ),
        migrations.AddField(
            model_name='payment',
            name='paper',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='payments', to='projects.issuedpaper', verbose_name='for'),
        ),
        migrations.AddField(
            model_name='payment',
            name='struck_by',
            field=models.ForeignKey(editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='projects.member'),
        ),
        migrations.AddField(
            model_name='payment',
            name='studio',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='payments', to='projects.studio'),
        ),
        migrations.AddField(
            model_name='quoteevent',
            name='link',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='projects.clientlink'),
        ),
        migrations.AddField(
            model_name='quoteevent',
            name='member',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='projects.member'),
        ),
        migrations.AddField(
            model_name='quoteevent',
            name='quote',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='events', to='projects.quote'),
        ),
        migrations.AddField(
            model_name='quoteoption',
            name='quote',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='options', to='projects.quote'),
        ),
        migrations.AddField(
            model_name='quoteevent',
            name='option',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='projects.quoteoption'),
        ),
        migrations.AddField(
            model_name='signoff',
            name='answered_by',
            field=models.ForeignKey(editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='projects.member'),
        ),
        migrations.AddField(
            model_name='signoff',
            name='answered_by_link',
            field=models.ForeignKey(editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='projects.clientlink'),
        ),
        migrations.AddField(
            model_name='signoff',
            name='asked_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='projects.member'),
        ),
        migrations.AddField(
            model_name='signoff',
            name='commission',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='sign_offs', to='projects.commission'),
        ),
        migrations.AddField(
            model_name='signoff',
            name='studio',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='sign_offs', to='projects.studio'),
        ),
        migrations.AddConstraint(
            model_name='changeorder',
            constraint=models.UniqueConstraint(fields=('commission', 'number'), name='change_order_number_once', violation_error_message='The commission already has a change of this number.'),
        ),
        migrations.AddConstraint(
            model_name='changeorder',
            constraint=models.UniqueConstraint(condition=models.Q(('answer', 'waiting')), fields=('commission',), name='change_order_one_waiting', violation_error_message='One change is waiting for the client already. Withdraw it first.'),
        ),
        migrations.AddConstraint(
            model_name='changeorder',
            constraint=models.CheckConstraint(condition=models.Q(('title', ''), _negated=True), name='change_order_titled', violation_error_message='Say what the change is.'),
        ),
        migrations.AddConstraint(
            model_name='changeorder',
            constraint=models.CheckConstraint(condition=models.Q(('days__gte', Decimal('-365')), ('days__lte', Decimal('365'))), name='change_order_days_in_range', violation_error_message='The days must be from -365 to 365.'),
        ),
        migrations.AddConstraint(
            model_name='changeorder',
            constraint=models.CheckConstraint(condition=models.Q(('answer__in', ['waiting', 'agreed', 'refused', 'withdrawn'])), name='change_order_answer_known', violation_error_message='The answer must be one of: waiting, agreed, refused, withdrawn.'),
        ),
        migrations.AddConstraint(
            model_name='changeorder',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('answer', 'waiting'), ('answered_at__isnull', True)), models.Q(models.Q(('answer', 'waiting'), _negated=True), ('answered_at__isnull', False)), _connector='OR'), name='change_order_answer_is_dated', violation_error_message='An answer has its time; what waits has none.'),
        ),
        migrations.AddConstraint(
            model_name='changeorder',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('answer', 'agreed'), _negated=True), models.Q(('answered_name', ''), _negated=True), _connector='OR'), name='change_order_agreement_is_signed', violation_error_message='An agreement has a name under it.'),
        ),
        migrations.AddConstraint(
            model_name='issuedpaper',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['confirmation', 'deposit', 'stage', 'balance', 'delivery', 'credit'])), name='issued_paper_kind_known', violation_error_message='The kind must be one of: confirmation, deposit, stage, balance, delivery, credit.'),
        ),
        migrations.AddConstraint(
            model_name='issuedpaper',
            constraint=models.UniqueConstraint(fields=('studio', 'kind', 'number'), name='issued_paper_number_once', violation_error_message='The studio has already issued a paper of this kind with this number.'),
        ),
        migrations.AddConstraint(
            model_name='issuedpaper',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('amount__isnull', True), ('base__isnull', True), ('tax__isnull', True)), models.Q(('amount__isnull', False), ('base__isnull', False), ('tax__isnull', False)), _connector='OR'), name='issued_paper_money_has_parts', violation_error_message='An amount has its parts before tax and tax.'),
        ),
        migrations.AddConstraint(
            model_name='issuedpaper',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('kind', 'credit'), _negated=True), ('corrects__isnull', False), _connector='OR'), name='issued_paper_credit_corrects', violation_error_message='A credit note says which paper it corrects.'),
        ),
        migrations.AddConstraint(
            model_name='letter',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['waiting', 'sent', 'failed'])), name='letter_state_known', violation_error_message='The state must be one of: waiting, sent, failed.'),
        ),
        migrations.AddConstraint(
            model_name='letter',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'sent'), _negated=True), ('sent_at__isnull', False), _connector='OR'), name='letter_sent_is_dated', violation_error_message='A letter that was sent has its time.'),
        ),
        migrations.AddConstraint(
            model_name='paperdefaults',
            constraint=models.CheckConstraint(condition=models.Q(('title_passes__in', ['paid', 'delivered'])), name='paper_defaults_title_passes_known', violation_error_message='The title passes must be one of: paid, delivered.'),
        ),
        migrations.AddConstraint(
            model_name='paperdefaults',
            constraint=models.CheckConstraint(condition=models.Q(('risk_passes__in', ['delivered', 'handed_over'])), name='paper_defaults_risk_passes_known', violation_error_message='The risk passes must be one of: delivered, handed_over.'),
        ),
        migrations.AddConstraint(
            model_name='paperdefaults',
            constraint=models.CheckConstraint(condition=models.Q(('report_days__gte', Decimal('0')), ('report_days__lte', Decimal('365'))), name='paper_defaults_report_days_in_range', violation_error_message='The report days must be from 0 to 365.'),
        ),
        migrations.AddConstraint(
            model_name='paperdefaults',
            constraint=models.CheckConstraint(condition=models.Q(('return_days__gte', Decimal('0')), ('return_days__lte', Decimal('365'))), name='paper_defaults_return_days_in_range', violation_error_message='The return days must be from 0 to 365.'),
        ),
        migrations.AddConstraint(
            model_name='paperdefaults',
            constraint=models.CheckConstraint(condition=models.Q(('warranty_months__gte', Decimal('0')), ('warranty_months__lte', Decimal('600'))), name='paper_defaults_warranty_months_in_range', violation_error_message='The warranty months must be from 0 to 600.'),
        ),
        migrations.AddConstraint(
            model_name='paperdefaults',
            constraint=models.CheckConstraint(condition=models.Q(('warranty_humidity_low__gte', Decimal('0')), ('warranty_humidity_low__lte', Decimal('100'))), name='paper_defaults_warranty_humidity_low_in_range', violation_error_message='The warranty humidity low must be from 0 to 100.'),
        ),
        migrations.AddConstraint(
            model_name='paperdefaults',
            constraint=models.CheckConstraint(condition=models.Q(('warranty_humidity_high__gte', Decimal('1')), ('warranty_humidity_high__lte', Decimal('100'))), name='paper_defaults_warranty_humidity_high_in_range', violation_error_message='The warranty humidity high must be from 1 to 100.'),
        ),
        migrations.AddConstraint(
            model_name='paperseries',
            constraint=models.UniqueConstraint(fields=('studio', 'kind'), name='paper_series_once_a_kind', violation_error_message='The studio already counts papers of this kind.'),
        ),
        migrations.AddConstraint(
            model_name='paperseries',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['confirmation', 'deposit', 'stage', 'balance', 'delivery', 'credit'])), name='paper_series_kind_known', violation_error_message='The kind must be one of: confirmation, deposit, stage, balance, delivery, credit.'),
        ),
        migrations.AddConstraint(
            model_name='payment',
            constraint=models.CheckConstraint(condition=models.Q(('way__in', ['in', 'back'])), name='payment_way_known', violation_error_message='The way must be one of: in, back.'),
        ),
        migrations.AddConstraint(
            model_name='payment',
            constraint=models.CheckConstraint(condition=models.Q(('by__in', ['transfer', 'card', 'cheque', 'cash', 'gallery', 'other'])), name='payment_by_known', violation_error_message='The by must be one of: transfer, card, cheque, cash, gallery, other.'),
        ),
        migrations.AddConstraint(
            model_name='payment',
            constraint=models.CheckConstraint(condition=models.Q(('amount__gt', 0)), name='payment_above_nothing', violation_error_message='A payment is above nothing.'),
        ),
        migrations.AddConstraint(
            model_name='payment',
            constraint=models.CheckConstraint(condition=models.Q(('struck_at__isnull', True), models.Q(('struck_why', ''), _negated=True), _connector='OR'), name='payment_struck_with_reason', violation_error_message='Say why it is struck.'),
        ),
        migrations.AddConstraint(
            model_name='quoteoption',
            constraint=models.UniqueConstraint(fields=('quote', 'position'), name='quote_option_position_once', violation_error_message='The quote already has an option in this place.'),
        ),
        migrations.AddConstraint(
            model_name='quoteoption',
            constraint=models.CheckConstraint(condition=models.Q(('position__gte', 1), ('position__lte', 3)), name='quote_option_position_in_range', violation_error_message='At most 3 options on a quote.'),
        ),
        migrations.AddConstraint(
            model_name='quoteoption',
            constraint=models.CheckConstraint(condition=models.Q(('title', ''), _negated=True), name='quote_option_titled', violation_error_message='An option needs a title.'),
        ),
        migrations.AddConstraint(
            model_name='quoteevent',
            constraint=models.CheckConstraint(condition=models.Q(('what__in', ['sent', 'seen', 'asked', 'answered', 'accepted', 'declined', 'withdrawn'])), name='quote_event_what_known', violation_error_message='The what must be one of: sent, seen, asked, answered, accepted, declined, withdrawn.'),
        ),
        migrations.AddConstraint(
            model_name='quoteevent',
            constraint=models.UniqueConstraint(condition=models.Q(('what', 'seen')), fields=('quote',), name='quote_event_seen_once', violation_error_message='It is noted already that this quote was seen.'),
        ),
        migrations.AddConstraint(
            model_name='quoteevent',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('what', 'accepted'), _negated=True), models.Q(models.Q(('name', ''), _negated=True), models.Q(('text', ''), _negated=True), models.Q(('sha256', ''), _negated=True)), _connector='OR'), name='quote_event_acceptance_is_signed', violation_error_message='An acceptance has a name and the text that was agreed to.'),
        ),
        migrations.AddConstraint(
            model_name='signoff',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['drawing', 'chip', 'ring'])), name='sign_off_kind_known', violation_error_message='The kind must be one of: drawing, chip, ring.'),
        ),
        migrations.AddConstraint(
            model_name='signoff',
            constraint=models.UniqueConstraint(condition=models.Q(('answer', 'waiting')), fields=('commission', 'kind'), name='sign_off_one_waiting_of_a_kind', violation_error_message='One of this kind is waiting for the client already. Withdraw it first.'),
        ),
        migrations.AddConstraint(
            model_name='signoff',
            constraint=models.CheckConstraint(condition=models.Q(('answer__in', ['waiting', 'agreed', 'refused', 'withdrawn'])), name='sign_off_answer_known', violation_error_message='The answer must be one of: waiting, agreed, refused, withdrawn.'),
        ),
        migrations.AddConstraint(
            model_name='signoff',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('answer', 'waiting'), ('answered_at__isnull', True)), models.Q(models.Q(('answer', 'waiting'), _negated=True), ('answered_at__isnull', False)), _connector='OR'), name='sign_off_answer_is_dated', violation_error_message='An answer has its time; what waits has none.'),
        ),
        migrations.AddConstraint(
            model_name='signoff',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('answer', 'agreed'), _negated=True), models.Q(('answered_name', ''), _negated=True), _connector='OR'), name='sign_off_agreement_is_signed', violation_error_message='An agreement has a name under it.'),
        ),
        migrations.RunPython(lay_out_papers, migrations.RunPython.noop, elidable=True),
    ]
